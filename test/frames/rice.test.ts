import { describe, expect, it } from "vitest";
import { PackedDataError, unpackRice } from "../../lib/frames/rice.ts";
import { makeRandomBytes } from "./random-bytes.ts";
import { packRicePlainly, unpackRicePlainly } from "./rice-twin.ts";

/** Values of a size: noise of a few bits with jumps over the whole range in it. */
function makeValues(count: number, bytes: 1 | 2 | 4, seed: number): number[] {
  const random = makeRandomBytes(6 * count, seed);
  return Array.from({ length: count }, (_, i) => {
    const [a, b, c, d, e, f] = random.subarray(6 * i, 6 * i + 6);
    if (bytes === 1) return f < 8 ? a : 100 + (a & 7);
    const range = f < 6 ? (a << 24) | (b << 16) | (c << 8) | d : (a & 31) - (e & 3) * 40;
    return bytes === 2 ? (range << 16) >> 16 : range;
  });
}

describe("unpackRice", () => {
  for (const bytes of [1, 2, 4] as const) {
    for (const blockSize of [32, 16, 7]) {
      it(`agrees with a bit-by-bit twin on 500 values of ${bytes} bytes in blocks of ${blockSize}, seed 41`, () => {
        const values = makeValues(500, bytes, 41);
        const largest = { 1: 6, 2: 14, 4: 25 }[bytes];
        // Every split in turn; small ones only where the jumps would make thousands of zero bits of it.
        const packed = packRicePlainly(values, bytes, blockSize, (block) => {
          const part = values.slice(Math.max(0, block * blockSize - 1), (block + 1) * blockSize);
          const spread = Math.max(...part) - Math.min(...part);
          const least = Math.max(0, Math.ceil(Math.log2(spread + 1)) - 8);
          return Math.min(largest, Math.max(least, block % (largest + 1)));
        });
        expect(unpackRicePlainly(packed, 500, bytes, blockSize)).toEqual(values);
        expect([...unpackRice(packed, 500, bytes, blockSize)]).toEqual(values);
      });
    }
  }

  it("follows differences that wrap round the 16 and 32 bits", () => {
    const ends = [-32768, 32767, -32768, 0, 32767];
    expect([
      ...unpackRice(
        packRicePlainly(ends, 2, 32, () => 14),
        5,
        2,
        32,
      ),
    ]).toEqual(ends);
    const wide = [-2147483648, 2147483647, 5, -2147483648];
    expect([
      ...unpackRice(
        packRicePlainly(wide, 4, 32, () => 25),
        4,
        4,
        32,
      ),
    ]).toEqual(wide);
  });

  it("counts 3000 zero bits in a row", () => {
    expect([
      ...unpackRice(
        packRicePlainly([0, 1500], 2, 32, () => 0),
        2,
        2,
        32,
      ),
    ]).toEqual([0, 1500]);
  });

  it("throws at every shorter length than the packed bytes, for 60 values of 2 bytes, seed 9", () => {
    const values = makeValues(60, 2, 9).map((value) => value & 63);
    const packed = packRicePlainly(values, 2, 32, () => 3);
    for (let length = 0; length < packed.length - 1; length++) {
      expect(() => unpackRice(packed.subarray(0, length), 60, 2, 32)).toThrow(PackedDataError);
    }
  });

  it("gives values or PackedDataError on 200 runs of random bytes, seed 77", () => {
    const random = makeRandomBytes(200 * 60, 77);
    for (let run = 0; run < 200; run++) {
      try {
        expect(unpackRice(random.subarray(60 * run, 60 * run + 60), 90, 4, 32)).toHaveLength(90);
      } catch (error) {
        expect(error).toBeInstanceOf(PackedDataError);
      }
    }
  });
});
