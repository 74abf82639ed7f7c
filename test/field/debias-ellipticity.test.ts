import { describe, expect, it } from "vitest";
import { debiasSize, toEllipticity, toSpinSize } from "../../lib/field/debias-ellipticity.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";

/** Medians of the Rice distribution of unit sigma: scipy.stats.rice.median, scipy of Debian 12, November 2026. */
const riceMedians: [number, number][] = [
  [0, 1.17741],
  [0.25, 1.1958492],
  [0.5, 1.2515802],
  [1, 1.4754791],
  [1.5, 1.8254715],
  [2, 2.2458023],
  [3, 3.1652458],
  [4, 4.1243777],
  [5.5, 5.5906645],
];

describe("the size of an elongation freed of noise", () => {
  it("turns the Rice median of scipy back into the true size within 0.002 sigma", () => {
    for (const [size, median] of riceMedians) expect(debiasSize(median, 1)).toBeCloseTo(size, 2);
    for (const [size, median] of riceMedians.slice(2))
      expect(Math.abs(debiasSize(median, 1) - size)).toBeLessThan(0.002);
  });

  it("is zero below what noise alone gives half the time, sqrt(2 ln 2) sigma", () => {
    expect(debiasSize(0.0235, 0.02)).toBe(0);
    expect(debiasSize(0.0236, 0.02)).toBeGreaterThan(0);
  });

  it("scales with its unit, and leaves a size without noise as it is", () => {
    expect(debiasSize(0.06, 0.02)).toBeCloseTo(0.02 * debiasSize(3, 1), 12);
    expect(debiasSize(0.06, 0)).toBe(0.06);
    expect(debiasSize(0.06, Number.NaN)).toBe(0.06);
  });

  it("joins its table and the limit beyond 6 sigma without a step above 0.1 %", () => {
    const below = debiasSize(6.08, 1);
    const above = debiasSize(6.09, 1);
    expect(above - below).toBeGreaterThan(0);
    expect(above - below).toBeLessThan(0.02);
  });

  it("has a median within 0.03 sigma of the truth over 20000 stars at 0, 0.5, 1, 2 and 5 sigma (seed 3)", () => {
    const normal = makeNormalRandom(makeRandom(3));
    for (const truth of [0, 0.5, 1, 2, 5]) {
      const sizes = Float64Array.from({ length: 20000 }, () =>
        debiasSize(Math.hypot(truth + normal(), normal()), 1),
      ).sort();
      expect(Math.abs(sizes[10000] - truth)).toBeLessThan(truth === 0 ? 0.1 : 0.03);
    }
  });

  it("goes between spin-2 size and 1 - b/a: axes 1.25 : 1 are 0.2 and 0.2195", () => {
    // (1.5625 - 1) / (1.5625 + 1) = 0.219512
    expect(toSpinSize(0.2)).toBeCloseTo(0.219512, 6);
    expect(toEllipticity(toSpinSize(0.2))).toBeCloseTo(0.2, 12);
  });
});
