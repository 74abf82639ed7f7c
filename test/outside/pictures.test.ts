import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { openFrame } from "../../lib/frames/open.ts";

// Files written by Pillow 9.4.0; the rule of their samples: test/references/pictures/README.md.
const references = join(import.meta.dirname, "../references/pictures");
const [widthPx, heightPx] = [19, 11];
const mono = Array.from(
  { length: widthPx * heightPx },
  (_, i) => ((i % widthPx) * 3449 + Math.floor(i / widthPx) * 5953) % 65536,
);
mono[0] = 0;
mono[1] = 65535;
const eight = mono.map((value) => value >> 8);
const at = (x: number, y: number): number => eight[y * widthPx + x];
const place = (i: number): [number, number] => [i % widthPx, Math.floor(i / widthPx)];
const rgb = [
  eight,
  eight.map((_, i) => at(place(i)[0], heightPx - 1 - place(i)[1])),
  eight.map((_, i) => at(widthPx - 1 - place(i)[0], place(i)[1])),
];

async function read(name: string): Promise<number[][]> {
  const frame = await openFrame(join(references, name));
  expect(frame).toMatchObject({ widthPx, heightPx });
  return frame.planes.map(({ samples }) => [...samples]);
}

describe("openFrame on pictures written by Pillow 9.4", () => {
  for (const name of [
    "mono16-raw.tif",
    "mono16-tiff_lzw.tif",
    "mono16-tiff_deflate.tif",
    "mono16-packbits.tif",
    "mono16.png",
  ]) {
    it(`yields every 16-bit sample of ${name}`, async () => {
      expect(await read(name)).toEqual([mono]);
    });
  }

  it("yields every 32-bit float of float32.tif", async () => {
    const floats = mono.map((value) => Math.fround(Math.fround(Math.fround(value) / 7) - 100));
    expect(await read("float32.tif")).toEqual([floats]);
  });

  for (const name of ["rgb8.png", "rgb8-lzw.tif"]) {
    it(`yields every 8-bit sample of the three channels of ${name}`, async () => {
      expect(await read(name)).toEqual(rgb);
    });
  }

  it("yields Pillow's own three channels of palette.png", async () => {
    const bytes = [...readFileSync(join(references, "palette.rgb"))];
    expect(await read("palette.png")).toEqual([0, 1, 2].map((c) => bytes.filter((_, i) => i % 3 === c)));
  });
});
