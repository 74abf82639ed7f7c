import { deflateSync } from "node:zlib";
import sharp from "sharp";
import { describe, expect, it } from "vitest";
import { makeRandom } from "../../lib/maths/random.ts";
import { crc32 } from "../../lib/site/crc32.ts";
import { encodeGreyPng } from "../../lib/site/grey-png.ts";
import { readGreyPng } from "../../lib/site/read-grey-png.ts";

/** Seed 11: steps of one to seven equal pixels, rows repeated now and then, as skies have. */
function makeSteps(width: number, height: number): Uint8Array {
  const random = makeRandom(11);
  const grey = new Uint8Array(width * height);
  for (let y = 0; y < height; y++) {
    if (y > 0 && random() < 0.5) grey.copyWithin(y * width, (y - 1) * width, y * width);
    else {
      for (let x = 0, left = 0, value = 0; x < width; x++, left--) {
        if (left <= 0) [left, value] = [1 + Math.floor(random() * 7), Math.floor(random() * 256)];
        grey[y * width + x] = value;
      }
    }
  }
  return grey;
}

describe("crc32", () => {
  it("is cbf43926 for 123456789, the check value of the catalogue of CRC algorithms (from memory)", () => {
    expect(crc32(Buffer.from("123456789")).toString(16)).toBe("cbf43926");
  });
});

describe("encodeGreyPng", () => {
  it.each([
    [1, 1],
    [132, 132],
    [2, 700],
    [300, 500],
  ])("is read back sample for sample by libvips at %i x %i px", async (width, height) => {
    const grey = makeSteps(width, height);
    const { data, info } = await sharp(encodeGreyPng(grey, width, height))
      .toColourspace("b-w")
      .raw()
      .toBuffer({ resolveWithObject: true });
    expect([info.width, info.height]).toEqual([width, height]);
    const first = info.channels === 1 ? data : data.filter((_, k) => k % info.channels === 0);
    expect(Buffer.compare(Buffer.from(first), Buffer.from(grey))).toBe(0);
  });

  it("is read back word for word by libvips at 16 bits, 0 and 65535 among them", async () => {
    const random = makeRandom(12);
    const words = Uint16Array.from({ length: 21 * 60 }, () => Math.floor(random() * 65536));
    [words[0], words[1]] = [0, 65535];
    words.copyWithin(21, 0, 21);
    const png = encodeGreyPng(words, 21, 60);
    const { data, info } = await sharp(png)
      .toColourspace("grey16")
      .raw({ depth: "ushort" })
      .toBuffer({ resolveWithObject: true });
    const read = new Uint16Array(data.buffer, data.byteOffset, data.byteLength / 2);
    expect(read.filter((_, k) => k % info.channels === 0)).toEqual(words);
    expect(readGreyPng(png)).toEqual({ samples: words, width: 21, height: 60 });
  });

  it("takes 201 bytes for each of 400 rows of 200 px and 73 for the rest, in two stored blocks", () => {
    const png = encodeGreyPng(new Uint8Array(200 * 400), 200, 400);
    expect(png.length).toBe(201 * 400 + 8 + 25 + 12 + 12 + 2 + 2 * 5 + 4);
    expect(readGreyPng(png)?.samples).toEqual(new Uint8Array(200 * 400));
  });
});

describe("readGreyPng", () => {
  const samples = Uint16Array.from({ length: 33 * 20 }, (_, k) => (k * 2654435) % 65536);

  it.each(["none", "adaptive"])("reads 16 bits exactly as libvips wrote them, filtering %s", async (how) => {
    const png = await sharp(samples, { raw: { width: 33, height: 20, channels: 1 } })
      .toColourspace("grey16")
      .png({ adaptiveFiltering: how === "adaptive", compressionLevel: 9 })
      .toBuffer();
    expect(readGreyPng(png)).toEqual({ samples, width: 33, height: 20 });
  });

  it("leaves colour, a cut-short file and a file of other bytes to the general reader", async () => {
    const colour = await sharp({ create: { width: 4, height: 4, channels: 3, background: "red" } })
      .png()
      .toBuffer();
    const grey = encodeGreyPng(new Uint8Array(16), 4, 4);
    expect([colour, grey.subarray(0, 45), Buffer.alloc(200)].map(readGreyPng)).toEqual([null, null, null]);
  });

  it("unpacks no more than the header's size asks for", () => {
    const bomb = encodeGreyPng(new Uint8Array(4), 2, 2);
    const data = deflateSync(Buffer.alloc(50_000_000));
    const chunk = Buffer.alloc(12 + data.length);
    chunk.writeUInt32BE(data.length, 0);
    chunk.write("IDAT", 4, "latin1");
    chunk.set(data, 8);
    expect(readGreyPng(Buffer.concat([bomb.subarray(0, 33), chunk]))).toBeNull();
  });
});
