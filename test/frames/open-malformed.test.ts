import { createHash } from "node:crypto";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, describe, expect, it } from "vitest";
import { type Fault, ReportError } from "../../lib/fault.ts";
import { openFrame } from "../../lib/frames/open.ts";
import {
  fillBlocks,
  gzip,
  makeFloats,
  makeHeader,
  makeShorts,
  makeTiledFits,
  makeUnsignedFits,
  mandatoryCards,
} from "./fits-bytes.ts";
import { makeRandomBytes } from "./random-bytes.ts";

const folder = mkdtempSync(join(tmpdir(), "frames-malformed-"));
afterAll(() => rmSync(folder, { recursive: true }));

let count = 0;
function write(bytes: Uint8Array, name = `frame-${count++}.fits`): string {
  const path = join(folder, name);
  writeFileSync(path, bytes);
  return path;
}

/** The one fault that opening these bytes gives; every fault has to name the file and what to do. */
async function findFault(bytes: Uint8Array, options = {}): Promise<Fault> {
  const path = write(bytes);
  const error = await openFrame(path, options).then(
    () => null,
    (reason: unknown) => reason,
  );
  expect(error).toBeInstanceOf(ReportError);
  const [fault] = (error as ReportError).faults;
  expect(fault.file).toBe(path);
  expect(fault.fix.length).toBeGreaterThan(10);
  return fault;
}

const values = Array.from({ length: 12 }, (_, i) => 1000 + i);
const good = makeUnsignedFits([4, 3], values);
const data = fillBlocks(makeShorts(values));
const withCards = (...cards: Parameters<typeof makeHeader>[0]): Buffer =>
  Buffer.concat([makeHeader([...mandatoryCards(16, [4, 3]), ...cards]), data]);

describe("openFrame on files that are no frame", () => {
  it("names a missing file, a folder and an empty file", async () => {
    await expect(openFrame(join(folder, "none.fits"))).rejects.toMatchObject({
      faults: [{ code: "frames/unreadable", found: "no such file" }],
    });
    await expect(openFrame(folder)).rejects.toMatchObject({
      faults: [{ code: "frames/unreadable", found: "a folder" }],
    });
    expect(await findFault(new Uint8Array(0))).toMatchObject({
      code: "frames/format",
      found: "an empty file",
    });
  });

  it("refuses text, a lone first byte and 10 kB of random bytes (seed 7) as no frame format", async () => {
    for (const bytes of [Buffer.from("a text, no frame"), Buffer.from([0x53]), makeRandomBytes(10_000, 7)]) {
      expect((await findFault(bytes)).code).toBe("frames/format");
    }
  });

  it("refuses gzip of something else, and gzip cut short", async () => {
    expect((await findFault(gzip(Buffer.from("not FITS")))).code).toBe("frames/format");
    const whole = gzip(makeUnsignedFits([80, 60], Array.from(makeRandomBytes(4800, 3))));
    expect((await findFault(whole.subarray(0, whole.length - 400))).code).toBe("frames/gzip");
    expect((await findFault(whole.subarray(0, 12))).code).toMatch(/^frames\/(gzip|format)$/);
  });
});

describe("openFrame on gzip files that are damaged behind the image or in its last bytes", () => {
  const noise = Array.from(makeRandomBytes(90_000, 3));

  it("finds a wrong check sum at gzip's end, though the image came out whole", async () => {
    const bytes = Buffer.from(gzip(makeUnsignedFits([300, 300], noise)));
    bytes[bytes.length - 6] ^= 1;
    expect((await findFault(bytes)).code).toBe("frames/gzip");
  });

  it("hashes in order a file whose packed tail is larger than what is read ahead: 3 MB of noise, seed 5", async () => {
    const bytes = gzip(Buffer.concat([makeUnsignedFits([300, 300], noise), makeRandomBytes(3_000_000, 5)]));
    const frame = await openFrame(write(bytes));
    expect(frame.sha256).toBe(createHash("sha256").update(bytes).digest("hex"));
  });

  it("hashes all of a file with bytes behind the gzip data", async () => {
    const bytes = Buffer.concat([gzip(makeUnsignedFits([300, 300], noise)), Buffer.alloc(3_000_000)]);
    const frame = await openFrame(write(bytes));
    expect(frame.sha256).toBe(createHash("sha256").update(bytes).digest("hex"));
  });

  it("gives up on a packed file whose header is broken, 20 times, leaving no reader behind", async () => {
    const bytes = gzip(Buffer.concat([makeHeader(mandatoryCards(16, [])), makeRandomBytes(3_000_000, 5)]));
    for (let i = 0; i < 20; i++) expect((await findFault(bytes)).code).toBe("frames/fits-no-image");
  });
});

describe("openFrame on FITS files with a broken frame", () => {
  it("says how many bytes a cut file has of those its header promises", async () => {
    const fault = await findFault(good.subarray(0, 2880 + 20));
    expect(fault).toMatchObject({ code: "frames/truncated" });
    expect(fault.found).toBe("20 bytes of data where the header promises 24");
  });

  it("says the same of a file cut within gzip's data", async () => {
    expect((await findFault(gzip(good.subarray(0, 2880 + 20)))).code).toBe("frames/truncated");
  });

  it("takes a file whose data is whole and whose last block is not filled", async () => {
    const frame = await openFrame(write(good.subarray(0, 2880 + 24)));
    expect([...frame.planes[0].samples.subarray(8)]).toEqual(values.slice(0, 4));
  });

  it("takes a file with junk behind its last unit", async () => {
    const junk = Buffer.concat([good, Buffer.from("junk"), makeRandomBytes(5000, 11)]);
    expect((await openFrame(write(junk))).widthPx).toBe(4);
  });

  it("finds END missing, in a short file and in 6 MB of cards", async () => {
    const cards = mandatoryCards(16, [4, 3]);
    expect((await findFault(makeHeader(cards, false))).code).toBe("frames/fits-no-end");
    const endless = Buffer.concat([makeHeader(cards, false), Buffer.alloc(6_000_000, 32)]);
    expect((await findFault(endless)).code).toBe("frames/fits-no-end");
  });

  it("does not take END within a comment or a keyword such as ENDTIME for the end", async () => {
    const frame = await openFrame(
      write(withCards("COMMENT END", "END OF THE STORY", ["ENDTIME", 5], ["FILTER", "L"])),
    );
    expect(frame.header.filter).toBe("L");
  });

  it("refuses axes of 1e9, of 2^53 and of 10^30 before anything is allocated", async () => {
    for (const axes of [
      [1e9, 1e9],
      [2 ** 53 - 1, 2 ** 53 - 1],
      [1e9, 1],
      [200_000, 200_000],
    ]) {
      const bytes = Buffer.concat([makeHeader(mandatoryCards(16, axes)), data]);
      expect((await findFault(bytes)).code).toMatch(/^frames\/(fits-size|truncated|too-large)$/);
      expect((await findFault(gzip(bytes))).code).toMatch(/^frames\/(fits-size|truncated|too-large)$/);
    }
    const wild = makeHeader(["SIMPLE  = T", "BITPIX  = 16", "NAXIS   = 2", "NAXIS1  = 1E30", "NAXIS2  = 1"]);
    expect((await findFault(wild)).code).toBe("frames/fits-keyword");
  });

  it("refuses 999 axes, negative, broken and missing ones", async () => {
    const broken = [
      ["SIMPLE  = T", "BITPIX  = 16", "NAXIS   = 999"],
      ["SIMPLE  = T", "BITPIX  = 16", "NAXIS   = 2", "NAXIS1  = -4", "NAXIS2  = 3"],
      ["SIMPLE  = T", "BITPIX  = 16", "NAXIS   = 2", "NAXIS1  = 4.5", "NAXIS2  = 3"],
      ["SIMPLE  = T", "BITPIX  = 16", "NAXIS   = 2", "NAXIS1  = 4"],
      ["SIMPLE  = T", "BITPIX  = 16"],
      ["SIMPLE  = T", "BITPIX  = 12", "NAXIS   = 0"],
      ["SIMPLE  = T", "BITPIX  = 'x'", "NAXIS   = 0"],
      ["SIMPLE  = T"],
    ];
    for (const cards of broken) {
      expect((await findFault(makeHeader(cards))).code).toBe("frames/fits-keyword");
    }
  });

  it("lists what the file holds where there is no picture: no axes, an axis of 0, one axis, a cube of 7", async () => {
    for (const axes of [[], [0, 5], [12], [2, 3, 2], [1, 2, 6]]) {
      const fault = await findFault(Buffer.concat([makeHeader(mandatoryCards(16, axes)), data]));
      expect(fault.code).toBe("frames/fits-no-image");
      expect(fault.found).toContain("unit 0");
    }
    expect((await findFault(good, { hdu: 3 })).allowed).toContain("unit 3");
  });

  it("refuses a decimal comma in BSCALE, BSCALE of 0 and two differing BZERO, which would give a wrong picture", async () => {
    expect(await findFault(withCards("BSCALE  = 1,5"))).toMatchObject({
      code: "frames/fits-scaling",
      found: "1,5",
    });
    expect((await findFault(withCards(["BSCALE", 0]))).code).toBe("frames/fits-scaling");
    expect((await findFault(withCards(["BZERO", 0], ["BZERO", 32768]))).code).toBe("frames/fits-scaling");
  });

  it("refuses differing duplicates of an axis and takes equal ones", async () => {
    expect((await findFault(withCards(["NAXIS1", 6]))).code).toBe("frames/fits-conflict");
    expect((await openFrame(write(withCards(["NAXIS1", 4])))).widthPx).toBe(4);
  });

  it("reads lower-case keywords with a warning, BZERO among them", async () => {
    const bytes = Buffer.from(
      makeUnsignedFits([4, 3], values).toString("latin1").replace("BZERO ", "bzero "),
      "latin1",
    );
    const frame = await openFrame(write(bytes));
    expect(frame.planes[0].samples[8]).toBe(1000);
    expect(frame.warnings.join()).toContain("lower case");
    const first = Buffer.from(good.toString("latin1").replace("SIMPLE", "simple"), "latin1");
    expect((await openFrame(write(first))).warnings.join()).toContain("lower case");
  });

  it("replaces control characters and broken bytes of cards, keeps UTF-8, and warns", async () => {
    const card = Buffer.from("FILTER  = 'H\u03b1 \u001b[2J \u0007'", "utf8").toString("latin1");
    const bad = await openFrame(write(withCards(card)));
    expect([...(bad.header.filter ?? "")].every((character) => character >= " ")).toBe(true);
    expect(bad.warnings.join()).toContain("beyond ASCII");
    const utf8 = Buffer.from("FILTER  = 'H\u03b1'", "utf8").toString("latin1");
    expect((await openFrame(write(withCards(utf8)))).header.filter).toBe("H\u03b1");
  });

  it("keeps a keyword named __PROTO__ a plain entry", async () => {
    const { header } = await openFrame(write(withCards("__proto__= 'x'", ["HIERARC", 1])));
    expect(Object.getPrototypeOf(header.keywords)).toBe(Object.prototype);
  });

  it("refuses a frame of NaN alone, and ignores BLANK on floats with a warning", async () => {
    const floats = (numbers: number[], ...cards: Parameters<typeof makeHeader>[0]): Buffer =>
      Buffer.concat([
        makeHeader([...mandatoryCards(-32, [2, 2]), ...cards]),
        fillBlocks(makeFloats(numbers)),
      ]);
    expect((await findFault(floats([Number.NaN, Number.NaN, Number.NaN, Number.NaN]))).code).toBe(
      "frames/no-values",
    );
    const frame = await openFrame(write(floats([1, 2, Number.NaN, Number.POSITIVE_INFINITY], ["BLANK", 1])));
    expect([...frame.planes[0].samples]).toEqual([Number.NaN, Number.NaN, 1, 2]);
    expect(frame.warnings.join()).toContain("BLANK");
  });
});

describe("openFrame on broken tile-compressed files", () => {
  // Rice, 16 bits: first value 7, then blocks of the split field 0, all differences zero.
  const seven = Uint8Array.from([0, 7, 0]);

  it("reads the whole tile they are made from: 4 x 3 px of 7", async () => {
    const frame = await openFrame(write(makeTiledFits(4, 3, seven)));
    expect([...frame.planes[0].samples]).toEqual(new Array(12).fill(7));
  });

  it("names the tile that cannot be unpacked", async () => {
    const cases = [
      makeTiledFits(4, 3, Uint8Array.from([0])),
      makeTiledFits(400, 300, seven),
      makeTiledFits(4, 3, Uint8Array.from([0, 7, 0x20])),
      makeTiledFits(4, 3, Buffer.from("no gzip"), { ZCMPTYPE: "GZIP_1" }),
      makeTiledFits(4, 3, gzip(Buffer.alloc(13)), { ZCMPTYPE: "GZIP_2" }),
      makeTiledFits(4, 3, gzip(Buffer.alloc(100_000)), { ZCMPTYPE: "GZIP_1" }),
      makeTiledFits(4, 3, seven, { ZVAL2: 8 }),
      makeTiledFits(4, 3, seven, { ZVAL1: 0 }),
      makeTiledFits(4, 3, seven, { ZBITPIX: -32 }),
    ];
    for (const bytes of cases) {
      expect(await findFault(bytes)).toMatchObject({ code: "frames/fits-tile" });
    }
  });

  it("refuses rows that do not agree with the tiles, a heap outside the data and unknown columns", async () => {
    for (const overrides of [
      { ZTILE1: 2 },
      { ZTILE2: 1 },
      { THEAP: 10 },
      { TFORM1: "1PZ9" },
      { TFORM1: "1ZB" },
      { TFORM1: "9PB" },
      { ZQUANTIZ: "SOME_DITHER" },
    ]) {
      const fault = await findFault(makeTiledFits(4, 3, seven, overrides));
      expect(fault.code).toMatch(/^frames\/(fits-table|fits-tile)$/);
    }
    const outside = makeTiledFits(4, 3, seven);
    outside.writeInt32BE(3000, 2 * 2880 + 4);
    expect((await findFault(outside)).code).toBe("frames/fits-table");
    outside.writeInt32BE(-1, 2 * 2880);
    expect((await findFault(outside)).code).toBe("frames/fits-table");
  });

  it("refuses a tile of 10^18 px in 3 bytes, and a heap of 10^15 bytes, before anything is allocated", async () => {
    expect((await findFault(makeTiledFits(1e9, 1e9, seven))).code).toBe("frames/too-large");
    expect((await findFault(makeTiledFits(20_000, 20_000, seven))).code).toBe("frames/fits-tile");
    expect((await findFault(makeTiledFits(4, 3, seven, { PCOUNT: 1e15 }))).code).toBe("frames/truncated");
    expect((await findFault(gzip(makeTiledFits(4, 3, seven, { PCOUNT: 1e15 })))).code).toBe(
      "frames/fits-table",
    );
  });
});

describe("openFrame on files with bytes changed at random", () => {
  it("gives a frame or a fault, never another error: 300 files, seed 20261003", async () => {
    const rice = makeTiledFits(4, 3, Uint8Array.from([0, 7, 0x35, 0x81, 0xff, 0x10, 0x42, 0x99]));
    const random = makeRandomBytes(300 * 12, 20261003);
    for (let round = 0; round < 300; round++) {
      const bytes = Buffer.from(round % 2 === 0 ? good : rice);
      for (let change = 0; change < 4; change++) {
        const at = 12 * round + 3 * change;
        const range = change % 2 === 0 ? 2880 : bytes.length;
        // Mostly within the cards of the last header, where the numbers are.
        const offset = ((random[at] << 8) | random[at + 1]) % Math.min(range, 1760);
        bytes[(round % 2 === 0 ? 9 : 2880) + offset] = random[at + 2];
      }
      await openFrame(write(bytes, "changed.fits")).catch((error: unknown) => {
        expect(error).toBeInstanceOf(ReportError);
      });
    }
  });
});
