import { describe, expect, it } from "vitest";
import { computeMedianInterval } from "../../lib/field/median-interval.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";

describe("the interval of a median", () => {
  it("is not given for five values and spans nearly all of six", () => {
    expect(computeMedianInterval([1, 2, 3, 4, 5])).toBeNull();
    const interval = computeMedianInterval([1, 2, 3, 4, 5, 6]);
    expect(interval?.median).toBe(3.5);
    // The span covers 1 - 2/64, the next ranks 1 - 14/64; I = (0.96875 - 0.95) / 0.1875 = 0.1, share 5 I / (1 + 4 I).
    expect(interval?.lo).toBeCloseTo(1 + 0.5 / 1.4, 9);
    expect(interval?.hi).toBeCloseTo(7 - (interval?.lo ?? 0), 12);
  });

  it("lies between the binomial ranks that cover just more and just less than 95 %", () => {
    // n = 20: ranks 6 and 15 cover 95.86 %, ranks 7 and 14 cover 88.5 % (binomial table, p = 1/2).
    const interval = computeMedianInterval(Array.from({ length: 20 }, (_, i) => i + 1));
    expect(interval?.lo).toBeGreaterThanOrEqual(6);
    expect(interval?.lo).toBeLessThan(7);
    expect(interval?.hi).toBeGreaterThan(14);
    expect(interval?.hi).toBeLessThanOrEqual(15);
  });

  it("goes over without a step from the exact binomial to its normal limit at 400 values", () => {
    const rank = (n: number) => computeMedianInterval(Array.from({ length: n }, (_, i) => i + 1))?.lo ?? 0;
    expect(rank(401) - rank(400)).toBeGreaterThan(0.3);
    expect(rank(401) - rank(400)).toBeLessThan(0.7);
  });

  it("covers the true median in 93 to 97 % of 4000 samples of 8, 25 and 120 values, skew or not (seed 11)", () => {
    const normal = makeNormalRandom(makeRandom(11));
    for (const n of [8, 25, 120]) {
      for (const shape of [(z: number) => z, (z: number) => Math.exp(z) - 1]) {
        let hits = 0;
        for (let trial = 0; trial < 4000; trial++) {
          const values = Float64Array.from({ length: n }, () => shape(normal())).sort();
          const interval = computeMedianInterval(values);
          if (interval !== null && interval.lo <= 0 && interval.hi >= 0) hits++;
        }
        expect(hits / 4000).toBeGreaterThan(0.93);
        expect(hits / 4000).toBeLessThan(0.97);
      }
    }
  });
});
