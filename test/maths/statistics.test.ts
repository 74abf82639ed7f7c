import { describe, expect, it } from "vitest";
import {
  estimateMadSigma,
  mean,
  median,
  quantile,
  standardDeviation,
  weightedMedian,
} from "../../lib/maths/statistics.ts";

describe("median and quantile", () => {
  it("gives 3 for 5, 1, 3 and 2.5 for 4, 1, 3, 2, and leaves the sample as it was", () => {
    const sample = [4, 1, 3, 2];
    expect(median([5, 1, 3])).toBe(3);
    expect(median(sample)).toBe(2.5);
    expect(sample).toEqual([4, 1, 3, 2]);
  });

  it("reads NaN and infinities as absent, and gives NaN where nothing is left", () => {
    expect(median([Number.NaN, 7, Number.POSITIVE_INFINITY, 9])).toBe(8);
    expect(median(new Float32Array([Number.NaN]))).toBeNaN();
    expect(median([])).toBeNaN();
    expect(quantile([1, 2], 1.5)).toBeNaN();
  });

  // numpy.quantile([2, 3, 5, 7, 11], q), numpy 1.24 (type 7)
  it("interpolates as type 7: 2.4, 3.8, 5, 8.6 and 10.6 at q 0.1, 0.35, 0.5, 0.85 and 0.975 of 2 3 5 7 11", () => {
    const sample = [11, 2, 7, 3, 5];
    const expected: [number, number][] = [
      [0.1, 2.4],
      [0.35, 3.8],
      [0.5, 5],
      [0.85, 8.6],
      [0.975, 10.6],
      [0, 2],
      [1, 11],
    ];
    for (const [q, value] of expected) expect(quantile(sample, q)).toBeCloseTo(value, 12);
  });

  it("follows a shift and a scale of the sample", () => {
    const sample = [0.3, 1.9, 2.2, 8.1, 3.3, 4.7];
    for (const q of [0.05, 0.5, 0.8]) {
      expect(
        quantile(
          sample.map((value) => 3 * value - 7),
          q,
        ),
      ).toBeCloseTo(3 * quantile(sample, q) - 7, 12);
    }
  });
});

describe("estimateMadSigma", () => {
  // closed form: deviations of 1..9 from 5 have median 2
  it("gives 2 x 1.482602 for 1..9, and the same with one member at 1e9", () => {
    expect(estimateMadSigma([1, 2, 3, 4, 5, 6, 7, 8, 9])).toBeCloseTo(2.965204437, 9);
    expect(estimateMadSigma([1, 2, 3, 4, 5, 6, 7, 8, 1e9])).toBeCloseTo(2.965204437, 9);
  });
});

describe("mean and standard deviation", () => {
  it("keeps the small members beside large ones that cancel: mean of 1e16, 3, -1e16 is 1", () => {
    expect(mean([1e16, 3, -1e16])).toBe(1);
  });

  it("gives sqrt(2.5) for 1..5 and NaN for one member", () => {
    expect(standardDeviation([1, 2, 3, 4, 5])).toBeCloseTo(Math.sqrt(2.5), 14);
    expect(standardDeviation([4])).toBeNaN();
  });
});

describe("weightedMedian", () => {
  it("equals the median where the weights are equal", () => {
    expect(weightedMedian([5, 1, 3], [2, 2, 2])).toBe(3);
    expect(weightedMedian([4, 1, 3, 2], [0.1, 0.1, 0.1, 0.1])).toBe(2.5);
  });

  it("equals the median of the sample in which each member stands as often as its weight says", () => {
    const values = [3, 8, 1, 5];
    const weights = [2, 1, 3, 1];
    expect(weightedMedian(values, weights)).toBe(median([3, 3, 8, 1, 1, 1, 5]));
    expect(weightedMedian([1, 2, Number.NaN], [1, 0, 9])).toBe(1);
  });
});
