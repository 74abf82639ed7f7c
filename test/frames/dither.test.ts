import { describe, expect, it } from "vitest";
import { DITHER_LENGTH, DITHER_ZERO, makeDitherNumbers, restoreFloats } from "../../lib/frames/dither.ts";

const { numbers } = makeDitherNumbers();

describe("restoreFloats", () => {
  it("yields i * scale + zero without dither, NaN for the blank", () => {
    const into = new Float64Array(3);
    restoreFloats([2, -9, 4], { scale: 0.5, zero: 10, blank: -9, method: "NO_DITHER", ditherRow: 1 }, into);
    expect([...into]).toEqual([11, Number.NaN, 12]);
  });

  it("starts each row's run at 500 times the row's number, and uses one number up for a blank as well", () => {
    const into = new Float64Array(3);
    const tile = { scale: 2, zero: 1, blank: -9, method: "SUBTRACTIVE_DITHER_1", ditherRow: 3 } as const;
    restoreFloats([7, -9, 8], tile, into);
    const start = Math.trunc(numbers[2] * 500);
    expect(into[0]).toBe((7 - numbers[start] + 0.5) * 2 + 1);
    expect(into[1]).toBeNaN();
    expect(into[2]).toBe((8 - numbers[start + 2] + 0.5) * 2 + 1);
  });

  it("keeps exact zeros in the second method alone", () => {
    for (const [method, zero] of [
      ["SUBTRACTIVE_DITHER_2", true],
      ["SUBTRACTIVE_DITHER_1", false],
    ] as const) {
      const into = new Float32Array(1);
      restoreFloats([DITHER_ZERO], { scale: 1, zero: 0, blank: null, method, ditherRow: 1 }, into);
      expect(into[0] === 0).toBe(zero);
    }
  });

  it("goes on at the next row's start after the 10000th number, and from row 10000 to row 1", () => {
    const count = 2 * DITHER_LENGTH;
    const into = new Float64Array(count);
    const tile = {
      scale: 1,
      zero: 0,
      blank: null,
      method: "SUBTRACTIVE_DITHER_1",
      ditherRow: 10_000,
    } as const;
    restoreFloats(new Int32Array(count), tile, into);
    const first = Math.trunc(numbers[9999] * 500);
    const second = Math.trunc(numbers[0] * 500);
    expect(into[DITHER_LENGTH - first - 1]).toBe(0.5 - numbers[9999]);
    expect(into[DITHER_LENGTH - first]).toBe(0.5 - numbers[second]);
  });
});
