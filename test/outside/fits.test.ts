import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { gunzipSync } from "node:zlib";
import { describe, expect, it } from "vitest";
import { ReportError } from "../../lib/fault.ts";
import { makeMemorySource } from "../../lib/frames/byte-source.ts";
import { makeDitherNumbers } from "../../lib/frames/dither.ts";
import { encodeChecksum, sumBytes } from "../../lib/frames/fits-checksum.ts";
import { decodeFitsImage, type FitsImage } from "../../lib/frames/fits-decode.ts";
import type { NativeSamples } from "../../lib/frames/fits-samples.ts";

// Values read by astropy 5.2.1 and funpack 1.7.0; how they were made: test/references/fits/README.md.
const references = join(import.meta.dirname, "../references/fits");

interface ExpectedImage {
  type: string;
  shape: number[];
  sha256: string;
  nans: number;
  astropy?: string;
  astropyNans?: number;
  funpack?: string;
}

interface Expected {
  suite: Record<string, Record<string, ExpectedImage>>;
  plain: Record<string, Record<string, ExpectedImage>>;
  packed: Record<string, ExpectedImage>;
  refused: Record<string, string>;
  plainTiles: ExpectedImage;
}

const expected = JSON.parse(readFileSync(join(references, "expected.json"), "utf8")) as Expected;

function readReference(name: string): Uint8Array {
  return gunzipSync(readFileSync(join(references, `${name}.gz`)));
}

function decode(name: string, hdu?: number): Promise<FitsImage> {
  return decodeFitsImage(makeMemorySource(name, readReference(name)), hdu);
}

const typeNames: Record<string, string> = {
  Uint8Array: "uint8",
  Int8Array: "int8",
  Uint16Array: "uint16",
  Int16Array: "int16",
  Uint32Array: "uint32",
  Int32Array: "int32",
  BigUint64Array: "uint64",
  BigInt64Array: "int64",
  Float32Array: "float32",
  Float64Array: "float64",
};

/** The same summary that generate.py makes, so that a match is a match of every pixel's bits. */
function summarize(image: FitsImage): Pick<ExpectedImage, "type" | "shape" | "sha256" | "nans"> {
  const values: NativeSamples = image.values.slice();
  let nans = 0;
  if (values instanceof Float32Array || values instanceof Float64Array) {
    for (let i = 0; i < values.length; i++) {
      if (!Number.isNaN(values[i])) continue;
      nans++;
      values[i] = Number.NaN;
    }
  }
  const bytes = new Uint8Array(values.buffer, values.byteOffset, values.byteLength);
  return {
    type: typeNames[values.constructor.name],
    shape:
      image.planes === 1 ? [image.heightPx, image.widthPx] : [image.planes, image.heightPx, image.widthPx],
    sha256: createHash("sha256").update(bytes).digest("hex"),
    nans,
  };
}

function pick({ type, shape, sha256, nans }: ExpectedImage) {
  return { type, shape, sha256, nans };
}

async function catchFault(work: Promise<unknown>) {
  const error = await work.then(
    () => null,
    (reason: unknown) => reason,
  );
  expect(error).toBeInstanceOf(ReportError);
  return (error as ReportError).faults[0];
}

describe("decodeFitsImage on astropy's own test files", () => {
  for (const [name, units] of Object.entries(expected.suite)) {
    for (const [hdu, image] of Object.entries(units)) {
      it(`yields astropy's ${image.type} values of ${name}, unit ${hdu}, ${image.shape.join(" x ")}`, async () => {
        expect(summarize(await decode(name, Number(hdu)))).toEqual(pick(image));
      });
    }
    const first = Object.keys(units)[0];
    if (first !== undefined) {
      it(`takes unit ${first} of ${name} where none is named`, async () => {
        expect(summarize(await decode(name))).toEqual(pick(units[first]));
      });
    } else {
      it(`says of ${name} that it has no image of two axes`, async () => {
        const fault = await catchFault(decode(name));
        expect(fault.code).toMatch(/^frames\/(fits-no-image|truncated)$/);
        expect(fault.file).toBe(name);
      });
    }
  }

  it("warns of the wrong CHECKSUM in checksum_false.fits, not of the right one in checksum.fits", async () => {
    const wrong = await decode("checksum_false.fits");
    expect(wrong.warnings.join(" ")).toMatch(/DATASUM|CHECKSUM/);
    expect((await decode("checksum.fits")).warnings).toEqual([]);
  });
});

describe("decodeFitsImage on one image of each BITPIX and scaling", () => {
  for (const [name, units] of Object.entries(expected.plain)) {
    it(`yields astropy's ${units["0"].type} values of ${name}, ${units["0"].nans} NaN`, async () => {
      const image = await decode(name);
      expect(summarize(image)).toEqual(pick(units["0"]));
      expect(image.warnings).toEqual([]);
    });
  }
});

describe("decodeFitsImage on tile-compressed images", () => {
  for (const [name, image] of Object.entries(expected.packed)) {
    const readers = image.astropy === undefined ? "astropy's and funpack's" : "funpack's";
    it(`yields ${readers} ${image.type} values of ${name}`, async () => {
      const decoded = await decode(name);
      expect(summarize(decoded)).toEqual(pick(image));
      expect(decoded.warnings).toEqual([]);
    });
  }

  it("yields NaN for the keyword ZBLANK as funpack does and the standard asks, where astropy 5.2.1 does not", () => {
    const differing = Object.entries(expected.packed).filter(([, image]) => image.astropy === "differs");
    expect(differing.map(([name]) => name).every((name) => name.startsWith("f32-holes"))).toBe(true);
    for (const [, image] of differing) expect([image.nans, image.astropyNans]).toEqual([5, 0]);
  });

  it("yields the values of tiles stored plain or gzipped behind 64-bit descriptors and a gap before the heap", async () => {
    expect(expected.plainTiles.astropy).toBe(expected.plainTiles.sha256);
    expect(summarize(await decode("plain-tiles.fits"))).toEqual(pick(expected.plainTiles));
  });

  for (const [name, method] of Object.entries(expected.refused)) {
    it(`refuses ${method} by name in ${name} and says what to do`, async () => {
      const fault = await catchFault(decode(name));
      expect(fault).toMatchObject({ code: "frames/packing-refused", file: name, found: method });
      expect(fault.fix).toContain("unpack");
    });
  }
});

describe("numbers of the FITS standard", () => {
  it("encodes the complement of the sum 868229149 as hcHjjc9ghcEghc9g (FITS Standard 4.0, appendix J)", () => {
    expect(encodeChecksum(2 ** 32 - 1 - 868229149)).toBe("hcHjjc9ghcEghc9g");
  });

  it("sums big-endian int16 0 to 99, filled to 2880 bytes, to 160565700 (computed with numpy)", () => {
    const bytes = new Uint8Array(2880);
    const view = new DataView(bytes.buffer);
    for (let i = 0; i < 100; i++) view.setInt16(2 * i, i);
    expect(sumBytes(bytes)).toBe(160565700);
  });

  it("gives the smallest possible header the CHECKSUM DoFiEmFgDmFgDmFg (computed with numpy)", () => {
    const card = (text: string): string => text.padEnd(80);
    const header = [
      card("SIMPLE  =                    T"),
      card("BITPIX  =                    8"),
      card("NAXIS   =                    0"),
      card("DATASUM = '0       '"),
      card("CHECKSUM= '0000000000000000'"),
      card("END"),
    ].join("");
    // The complement of the sum with sixteen "0" in the value's place (appendix J.3).
    const short = header.padEnd(2880).replace("'0       '", "'0'       ");
    expect(encodeChecksum(2 ** 32 - 1 - sumBytes(Buffer.from(short)))).toBe("DoFiEmFgDmFgDmFg");
  });

  it("reaches the seed 1043618065 after 10000 dither numbers (FITS Standard 4.0, appendix I)", () => {
    const { numbers, lastSeed } = makeDitherNumbers();
    expect(lastSeed).toBe(1043618065);
    expect(numbers).toHaveLength(10_000);
  });
});
