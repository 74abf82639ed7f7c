import { mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import sharp from "sharp";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { listPhotos } from "../../../lib/site/prose/list-photos.ts";
import { parseProse } from "../../../lib/site/prose/parse-prose.ts";
import { writePhotos } from "../../../lib/site/prose/write-photos.ts";
import { makeSampleResults } from "../../fixtures/sample-results.ts";
import { makeSampleFolder, removeSampleFolders } from "../sample-site.ts";

let dir: string;

/** A picture of 2000 x 1000 px with a place, a camera and an orientation that turns it upright: 1000 x 2000 px. */
async function drawPhoto(): Promise<Buffer> {
  return sharp({ create: { width: 2000, height: 1000, channels: 3, background: "#336699" } })
    .withExif({
      IFD0: { Make: "Heron", Orientation: "6" },
      IFD3: { GPSLatitudeRef: "N", GPSLatitude: "54/1 27/1 0/1" },
    })
    .withMetadata({ orientation: 6 })
    .jpeg()
    .toBuffer();
}

beforeAll(async () => {
  dir = makeSampleFolder();
  const train = join(dir, "train");
  mkdirSync(join(train, "photos"), { recursive: true });
  writeFileSync(join(train, "photos/the rig.jpg"), await drawPhoto());
  writeFileSync(
    join(train, "photos/small.png"),
    await sharp({ create: { width: 300, height: 200, channels: 4, background: "#00000000" } })
      .png()
      .toBuffer(),
  );
  writeFileSync(
    join(train, "photos/drawing.svg"),
    '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>',
  );
  writeFileSync(join(train, "photos/broken.jpg"), "no picture");
  writeFileSync(join(dir, "secret.jpg"), await drawPhoto());
  symlinkSync(join(dir, "secret.jpg"), join(train, "photos/link.jpg"));
});
afterAll(removeSampleFolders);

async function write(text: string) {
  const [results] = makeSampleResults();
  const parsed = parseProse(results, text, "review.md");
  const photos = listPhotos(parsed);
  const out = join(makeSampleFolder(), "out");
  const pages = [...(await writePhotos(photos, join(dir, "train"), out, parsed.faults)).values()];
  return {
    pages,
    out,
    faults: parsed.faults.list.map(({ code, line, column }) => `${code} ${line}:${column}`),
  };
}

describe("a photo of the review", () => {
  it("is written upright at 480, 960 and 1000 px with its size on record", async () => {
    const { pages, out, faults } = await write('![The rig on its pier](photos/the%20rig.jpg "On the pier")');
    expect(faults).toEqual([]);
    expect(pages[0]).toMatchObject({
      words: "The rig on its pier",
      caption: "On the pier",
      width: 1000,
      height: 2000,
    });
    expect(pages[0].files.map(({ width }) => width)).toEqual([480, 960, 1000]);
    for (const { href, width } of pages[0].files) {
      const facts = await sharp(readFileSync(join(out, href))).metadata();
      expect([facts.width, facts.height]).toEqual([width, 2 * width]);
      expect(href).toMatch(/^photos\/[A-Za-z0-9._-]+\.jpg$/);
    }
  });

  it("is stripped of place, camera and orientation", async () => {
    const { pages, out } = await write("![The rig](photos/the%20rig.jpg)");
    expect((await sharp(await drawPhoto()).metadata()).exif).toBeDefined();
    for (const { href } of pages[0].files) {
      const facts = await sharp(readFileSync(join(out, href))).metadata();
      expect([facts.exif, facts.xmp, facts.iptc, facts.orientation]).toEqual([
        undefined,
        undefined,
        undefined,
        undefined,
      ]);
      expect(readFileSync(join(out, href)).includes("Heron")).toBe(false);
    }
  });

  it("is never enlarged: 300 px stay 300 px", async () => {
    const { pages } = await write("![A small one](photos/small.png)");
    expect(pages[0].files.map(({ width }) => width)).toEqual([300]);
  });

  it("gives the same bytes twice", async () => {
    const [one, two] = [await write("![a](photos/the%20rig.jpg)"), await write("![a](photos/the%20rig.jpg)")];
    const names = readdirSync(join(one.out, "photos"));
    expect(readdirSync(join(two.out, "photos"))).toEqual(names);
    for (const name of names)
      expect(
        readFileSync(join(one.out, "photos", name)).equals(readFileSync(join(two.out, "photos", name))),
      ).toBe(true);
  });

  it.each([
    ["![](photos/small.png)", "prose/no-words 1:1"],
    ["text\n\n![a](photos/none.jpg)", "prose/photo-missing 3:1"],
    ["![a](../secret.jpg)", "prose/photo-outside 1:1"],
    ["![a](photos/link.jpg)", "prose/photo-outside 1:1"],
    ["![a](/etc/passwd)", "prose/photo-outside 1:1"],
    ["![a](photos)", "prose/photo-unreadable 1:1"],
    ["![a](photos/drawing.svg)", "prose/photo-unreadable 1:1"],
    ["![a](photos/broken.jpg)", "prose/photo-unreadable 1:1"],
    ["before ![a](photos/small.png) behind", "prose/not-alone 1:8"],
    ["- ![a](photos/small.png)", "prose/not-alone 1:3"],
  ])("%j is refused as %s and not written", async (text, fault) => {
    const { faults, pages } = await write(text);
    expect(faults).toEqual([fault]);
    expect(pages).toEqual([]);
  });
});
