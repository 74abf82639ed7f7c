import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import sharp from "sharp";
import { afterAll, describe, expect, it } from "vitest";
import type { Frame } from "../../lib/frames/frame.ts";
import { type OpenFrameOptions, openFrame } from "../../lib/frames/open.ts";
import { makePng, makeTiff } from "./picture-bytes.ts";
import { makeRandomBytes } from "./random-bytes.ts";

const folder = mkdtempSync(join(tmpdir(), "frames-picture-"));
afterAll(() => rmSync(folder, { recursive: true }));

let count = 0;
function open(bytes: Uint8Array, options: OpenFrameOptions = {}): Promise<Frame> {
  // A name that says nothing of the format: it has to be told by content.
  const path = join(folder, `frame-${count++}.dat`);
  writeFileSync(path, bytes);
  return openFrame(path, options);
}

const channelSamples = (frame: Frame): number[][] => frame.planes.map(({ samples }) => [...samples]);

// Two bytes each, from 0 to 65535, so that any loss of depth or any gamma shows.
const bytes = makeRandomBytes(2 * 7 * 5 * 3, 5);
const shorts = Array.from({ length: 7 * 5 * 3 }, (_, i) => bytes[2 * i] * 256 + bytes[2 * i + 1]);
const mono = [0, 65535, ...shorts].slice(0, 35);
const size = { widthPx: 7, heightPx: 5 };

const separate = (samples: readonly number[], channels: number, wanted = channels): number[][] =>
  Array.from({ length: wanted }, (_, channel) => samples.filter((_, i) => i % channels === channel));

describe("openFrame on TIFF", () => {
  it("yields 16-bit mono samples exactly, row 0 first, in either byte order", async () => {
    for (const bigEndian of [false, true]) {
      const frame = await open(makeTiff({ ...size, samples: mono, bigEndian }));
      expect(frame).toMatchObject({ format: "tiff", ...size, fullScaleAdu: 65535, warnings: [] });
      expect(frame.planes[0].samples).toBeInstanceOf(Uint16Array);
      expect(frame.planes[0].samples.buffer).toBeInstanceOf(SharedArrayBuffer);
      expect(channelSamples(frame)).toEqual([mono]);
      expect(frame.planes[0].channel).toBe("L");
    }
  });

  it("yields the three planes of 16-bit RGB exactly and warns that they may be interpolated", async () => {
    const frame = await open(makeTiff({ ...size, samples: shorts, channels: 3 }));
    expect(frame.planes.map(({ channel }) => channel)).toEqual(["R", "G", "B"]);
    expect(channelSamples(frame)).toEqual(separate(shorts, 3));
    expect(frame.warnings.join()).toContain("interpolated");
    expect(
      (await open(makeTiff({ ...size, samples: shorts, channels: 3 }), { cfa: "none" })).warnings,
    ).toEqual([]);
  });

  it("yields 32-bit floats exactly, infinities as NaN", async () => {
    const samples = mono.map((value) => Math.fround((value - 3000) / 7));
    samples[4] = Number.NaN;
    const frame = await open(makeTiff({ ...size, samples, bits: 32, float: true }));
    expect(frame.fullScaleAdu).toBeNull();
    expect(channelSamples(frame)).toEqual([samples]);
    samples[5] = Number.NEGATIVE_INFINITY;
    const infinite = await open(makeTiff({ ...size, samples, bits: 32, float: true }));
    expect(infinite.planes[0].samples[5]).toBeNaN();
  });

  it("yields 32-bit RGB floats exactly", async () => {
    const samples = shorts.map((value) => Math.fround(value / 65535));
    const frame = await open(makeTiff({ ...size, samples, channels: 3, bits: 32, float: true }));
    expect(channelSamples(frame)).toEqual(separate(samples, 3));
  });

  it("yields 32-bit whole numbers as floats, and refuses 64-bit floats with the decoder's reason", async () => {
    const whole = mono.map((value) => value * 100);
    expect(channelSamples(await open(makeTiff({ ...size, samples: whole, bits: 32 })))).toEqual([whole]);
    const double = makeTiff({ ...size, samples: mono, bits: 64, float: true });
    await expect(open(double)).rejects.toMatchObject({
      faults: [{ code: "frames/picture", found: expect.stringContaining("samples out of range") }],
    });
  });

  it("warns of 8 bits and yields them as they are, 0 to 255", async () => {
    const samples = mono.map((value) => value >> 8);
    const frame = await open(makeTiff({ ...size, samples, bits: 8 }));
    expect(frame.fullScaleAdu).toBe(255);
    expect(channelSamples(frame)).toEqual([samples]);
    expect(frame.warnings.join()).toContain("indicative");
  });

  it("drops an opacity channel with a warning", async () => {
    const samples = Array.from({ length: 7 * 5 * 4 }, (_, i) => (i * 977) % 65536);
    const frame = await open(makeTiff({ ...size, samples, channels: 4, alpha: 1 }), { cfa: "none" });
    expect(channelSamples(frame)).toEqual(separate(samples, 4, 3));
    expect(frame.warnings.join()).toContain("opacity");
  });

  it("leaves samples as stored where the file asks to be turned, and says so", async () => {
    const frame = await open(makeTiff({ ...size, samples: mono, orientation: 6 }));
    expect(frame).toMatchObject(size);
    expect(channelSamples(frame)).toEqual([mono]);
    expect(frame.warnings.join()).toContain("orientation 6");
  });

  it("gives the record's colour-filter planes on one array of samples", async () => {
    const frame = await open(makeTiff({ ...size, samples: mono }), { cfa: "GRBG" });
    expect(frame.planes.map(({ channel, sites }) => [channel, sites])).toEqual([
      ["R", [false, true, false, false]],
      ["G", [true, false, false, true]],
      ["B", [false, false, true, false]],
    ]);
    expect(new Set(frame.planes.map(({ samples }) => samples)).size).toBe(1);
  });

  it("reads packed TIFF (deflate, with predictor) exactly", async () => {
    const raw = Uint16Array.from(mono);
    const packed = await sharp(raw, { raw: { width: 7, height: 5, channels: 1 } })
      .toColourspace("grey16")
      .tiff({ compression: "deflate", predictor: "horizontal" })
      .toBuffer();
    expect(channelSamples(await open(packed))).toEqual([mono]);
  });

  it("opens files whatever their names: brackets, quotes, markup, a line break", async () => {
    for (const name of ["x.tif[page=1]", "odd [1].tif", `<b>'"&.tif`, "-x.tif", "%d.tif", "a\n.tif"]) {
      const path = join(folder, name);
      writeFileSync(path, makeTiff({ ...size, samples: mono }));
      expect(channelSamples(await openFrame(path))).toEqual([mono]);
    }
  });

  it("reads a file anew that was written over under the same name", async () => {
    const path = join(folder, "again.tif");
    for (const first of [5, 6]) {
      const samples = [first, ...mono.slice(1)];
      writeFileSync(path, makeTiff({ ...size, samples }));
      expect(channelSamples(await openFrame(path))).toEqual([samples]);
    }
  });

  it("refuses CMYK, a cut file and a broken directory with a fault that names the file", async () => {
    const cmyk = makeTiff({ ...size, samples: [...shorts, ...mono], channels: 4, photometric: 5 });
    await expect(open(cmyk)).rejects.toMatchObject({ faults: [{ code: "frames/picture" }] });
    const whole = makeTiff({ widthPx: 300, heightPx: 200, samples: new Array(60_000).fill(500) });
    await expect(open(whole.subarray(0, 60_000))).rejects.toMatchObject({
      faults: [{ code: "frames/picture" }],
    });
    await expect(open(Buffer.from("II*\0\xff\xff\xff\xff", "latin1"))).rejects.toMatchObject({
      faults: [{ code: "frames/picture" }],
    });
  });

  it("refuses a size beyond the bounds before it decodes", async () => {
    const wide = makeTiff({ widthPx: 200_000, heightPx: 1, samples: mono });
    await expect(open(wide)).rejects.toMatchObject({
      faults: [{ code: expect.stringMatching(/^frames\//) }],
    });
  });
});

describe("openFrame on PNG", () => {
  it("yields 16-bit mono and RGB exactly, gAMA and a colour profile not applied", async () => {
    const gamma = Buffer.alloc(4);
    gamma.writeUInt32BE(45455);
    const frame = await open(makePng(7, 5, 16, 0, mono, [["gAMA", gamma]]));
    expect(frame).toMatchObject({ format: "png", fullScaleAdu: 65535, warnings: [] });
    expect(channelSamples(frame)).toEqual([mono]);
    expect(channelSamples(await open(makePng(7, 5, 16, 2, shorts)))).toEqual(separate(shorts, 3));
    const profiled = await sharp(Uint8Array.from(shorts.map((value) => value >> 8)), {
      raw: { width: 7, height: 5, channels: 3 },
    })
      .keepIccProfile()
      .withMetadata({ icc: "p3" })
      .png()
      .toBuffer();
    const { data } = await sharp(profiled, { ignoreIcc: true }).raw().toBuffer({ resolveWithObject: true });
    expect(channelSamples(await open(profiled))).toEqual(separate([...data], 3));
  });

  it("drops opacity without darkening what it covers", async () => {
    const samples = mono.flatMap((value, i) => [value, i % 2 === 0 ? 0 : 65535]);
    const frame = await open(makePng(7, 5, 16, 4, samples));
    expect(channelSamples(frame)).toEqual([mono]);
    expect(frame.warnings.join()).toContain("opacity");
  });

  it("refuses a PNG cut short", async () => {
    const whole = makePng(7, 5, 16, 0, mono);
    await expect(open(whole.subarray(0, whole.length - 40))).rejects.toMatchObject({
      faults: [{ code: "frames/picture" }],
    });
  });
});

describe("openFrame on JPEG", () => {
  it("warns of the format and of 8 bits", async () => {
    const jpeg = await sharp(Uint8Array.from(shorts.map((value) => value >> 8)), {
      raw: { width: 7, height: 5, channels: 3 },
    })
      .jpeg()
      .toBuffer();
    const frame = await open(jpeg);
    expect(frame).toMatchObject({ format: "jpeg", widthPx: 7, heightPx: 5, fullScaleAdu: 255 });
    expect(frame.warnings.join()).toContain("JPEG");
    expect(frame.warnings.join()).toContain("indicative");
    expect(frame.sha256).toMatch(/^[0-9a-f]{64}$/);
  });
});
