import { mkdtemp, readFile, rm, stat, utimes, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { runBuild } from "../lib/commands/build.ts";
import { runMeasure } from "../lib/commands/measure.ts";
import { runReport } from "../lib/commands/report.ts";
import { runVerify } from "../lib/commands/verify.ts";
import type { TrainResults } from "../lib/report/results.ts";
import { drawField, encodeFits, writeContent } from "./commands/draw-frames.ts";

let scratch: string;
let content: string;
let testDir: string;
let out: string;
const lines: string[] = [];
const terminal = {
  step: (line: string) => void lines.push(line),
  result: (line: string) => void lines.push(line),
};

const readResults = async (site: string): Promise<TrainResults> =>
  JSON.parse(await readFile(join(site, "trains/tarn-60/results.json"), "utf8"));

beforeAll(async () => {
  scratch = await mkdtemp(join(tmpdir(), "rig-report-pipeline-"));
  content = join(scratch, "content");
  out = join(scratch, "site");
  ({ testDir } = await writeContent(content));
  await runReport(["--content", content, "--out", out, "--jobs", "1"], terminal);
});
afterAll(() => rm(scratch, { recursive: true, force: true }));

describe("from frames to a site", () => {
  it("measures the drawn width of 3.00 px within 1.5 % in every zone that has stars enough", async () => {
    const { tests } = await readResults(out);
    const zones = tests[0].zones;
    if (zones === null) throw new Error("no zones");
    for (const zone of ["centre", "middle", "outer", "corner"] as const) {
      const width = zones[zone].fwhm.px;
      if (width.value === null) throw new Error(`${zone}: ${width.why}`);
      expect(Math.abs(width.value / 3 - 1)).toBeLessThan(0.015);
    }
    expect(tests[0].frames).toHaveLength(2);
    expect(tests[0].starField?.frames.filter((count) => count === 2).length).toBeGreaterThan(80);
  });

  it("says where the result is in its last line, and the address opens", async () => {
    expect(lines.at(-1)).toMatch(/open file:\/\/.*index\.html$/);
    const address = new URL(lines.at(-1)?.split("open ")[1] ?? "");
    expect((await stat(address)).isFile()).toBe(true);
  });

  it("points each finding at evidence that is in the file", async () => {
    const results = await readResults(out);
    expect(results.findings.length).toBeGreaterThan(0);
    for (const path of results.findings.flatMap(({ evidence }) => evidence)) {
      const found = path
        .split(".")
        .reduce<unknown>((at, key) => (at as Record<string, unknown>)?.[key], results);
      expect(found, path).toBeDefined();
    }
  });

  it("cuts stars out of the first frame without changing a sample", async () => {
    const { tests } = await readResults(out);
    const crop = tests[0].spokes?.crops[0];
    if (crop === undefined) throw new Error("no cut-out");
    const image = sharp(join(testDir, crop.file));
    const space = (await image.metadata()).space ?? "grey16";
    const { data } = await sharp(join(testDir, crop.file))
      .toColourspace(space)
      .raw({ depth: "ushort" })
      .toBuffer({ resolveWithObject: true });
    const samples = new Uint16Array(data.buffer, data.byteOffset, data.byteLength / 2);
    const frame = drawField({ sky: 7, seed: 1, shift: { x: 4, y: -3 } });
    const xPx = Math.round(crop.xMm / 0.00376 + 299.5);
    const yPx = Math.round(199.5 - crop.yMm / 0.00376);
    const left = xPx - crop.sidePx / 2;
    const top = yPx - crop.sidePx / 2;
    const row = Math.floor(crop.sidePx / 2);
    const expected = frame.samples.subarray((top + row) * 600 + left, (top + row) * 600 + left + crop.sidePx);
    expect([...samples.subarray(row * crop.sidePx, (row + 1) * crop.sidePx)]).toEqual([...expected]);
  });
});

describe("a second run", () => {
  it("measures nothing again, not even when the files were touched, and writes the same results", async () => {
    const before = await readFile(join(out, "trains/tarn-60/results.json"), "utf8");
    await utimes(join(testDir, "frames/field-1.fits"), new Date(), new Date());
    lines.length = 0;
    await runReport(["--content", content, "--out", out, "--jobs", "1"], terminal);
    expect(lines).toContain("1 test, 0 frames measured now");
    expect(await readFile(join(out, "trains/tarn-60/results.json"), "utf8")).toBe(before);
  });

  it("builds the same site from measured.json with no frame at hand", async () => {
    const before = await readFile(join(out, "trains/tarn-60/results.json"), "utf8");
    const apart = join(scratch, "apart");
    await runBuild(["--content", content, "--out", apart], terminal);
    expect(await readFile(join(apart, "trains/tarn-60/results.json"), "utf8")).toBe(before);
  });

  it("measures only the frame that was added", async () => {
    const image = drawField({ sky: 7, seed: 3, shift: { x: -5, y: 2 } });
    await writeFile(
      join(testDir, "frames/field-3.fits"),
      encodeFits(image, { EXPTIME: 60, IMAGETYP: "Light" }),
    );
    lines.length = 0;
    await runMeasure(["--content", content, "--jobs", "1"], terminal);
    expect(lines.at(-1)).toContain("1 frame measured now");
  });
});

describe("verify", () => {
  it("finds nothing different, then names a frame that was replaced and the values that changed", async () => {
    await runReport(["--content", content, "--out", out, "--jobs", "1"], terminal);
    lines.length = 0;
    await runVerify(["--content", content, "--out", out, "--jobs", "1"], terminal);
    expect(lines.at(-1)).toMatch(/^Nothing differs/);
    expect(process.exitCode ?? 0).toBe(0);

    const other = drawField({ sky: 7, seed: 33, shift: { x: -5, y: 2 } });
    await writeFile(
      join(testDir, "frames/field-3.fits"),
      encodeFits(other, { EXPTIME: 60, IMAGETYP: "Light" }),
    );
    await runVerify(["--content", content, "--out", out, "--jobs", "1"], terminal);
    expect(process.exitCode).toBe(1);
    process.exitCode = 0;
    expect(lines.join("\n")).toMatch(/field-3\.fits is not the file that was measured/);
    expect(lines.at(-1)).toMatch(/differences from what is stored/);
  });
});
