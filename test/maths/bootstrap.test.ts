import { describe, expect, it } from "vitest";
import { bootstrapBca, bootstrapPercentile } from "../../lib/maths/bootstrap.ts";
import { bootstrapNested } from "../../lib/maths/nested-bootstrap.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import { mean, median } from "../../lib/maths/statistics.ts";

/** Law school data: LSAT score and grade average of 15 schools (Efron & Tibshirani 1993, An Introduction to the Bootstrap, table 3.1). */
const lawSchools = [
  [576, 3.39],
  [635, 3.3],
  [558, 2.81],
  [578, 3.03],
  [666, 3.44],
  [580, 3.07],
  [555, 3.0],
  [661, 3.43],
  [651, 3.36],
  [605, 3.13],
  [653, 3.12],
  [575, 2.74],
  [545, 2.76],
  [572, 2.88],
  [594, 2.96],
];

function correlate(members: Int32Array): number {
  const count = members.length;
  let [sx, sy, sxx, syy, sxy] = [0, 0, 0, 0, 0];
  for (const member of members) {
    const [a, b] = lawSchools[member];
    sx += a;
    sy += b;
    sxx += a * a;
    syy += b * b;
    sxy += a * b;
  }
  return (sxy - (sx * sy) / count) / Math.sqrt((sxx - (sx * sx) / count) * (syy - (sy * sy) / count));
}

describe("bootstrapBca", () => {
  // Correlation 0.776 is published (ibid.); the interval is scipy's (scipy.stats.bootstrap, 9,999 resamples): 0.440..0.928.
  // seed 4; 9,999 resamples leave about 0.01 of scatter at the lower end.
  it("gives 0.776 with 90 % interval 0.440..0.928 and standard error 0.133 for the law schools", () => {
    const interval = bootstrapBca(15, correlate, { random: makeRandom(4), resamples: 9999, confidence: 0.9 });
    expect(interval.value).toBeCloseTo(0.776374, 6);
    expect(Math.abs(interval.lo - 0.44)).toBeLessThan(0.02);
    expect(Math.abs(interval.hi - 0.928)).toBeLessThan(0.006);
    expect(Math.abs(interval.standardError - 0.133)).toBeLessThan(0.005);
  });
});

describe("bootstrapPercentile", () => {
  // The mean's bootstrap distribution is near normal with sd s sqrt((n-1)/n) / sqrt(n).
  it("agrees with the normal interval for the mean of 200 values within 5 % of its width (seed 6)", () => {
    const normal = makeNormalRandom(makeRandom(6));
    const sample = Float64Array.from({ length: 200 }, () => 10 + normal());
    const interval = bootstrapPercentile(sample, mean, { random: makeRandom(7), resamples: 4000 });
    const spread = Math.sqrt(mean(sample.map((value) => (value - mean(sample)) ** 2)) / 200);
    expect(interval.standardError / spread).toBeGreaterThan(0.95);
    expect(interval.standardError / spread).toBeLessThan(1.05);
    expect(Math.abs(interval.hi - interval.lo - 3.92 * spread)).toBeLessThan(0.05 * 3.92 * spread);
  });

  it("gives the same interval for the same seed, ignores NaN, and has none for an empty sample", () => {
    const run = (values: number[]) =>
      bootstrapPercentile(values, median, { random: makeRandom(1), resamples: 200 });
    expect(run([1, 2, 3, 4, 9])).toEqual(run([1, 2, Number.NaN, 3, 4, 9]));
    expect(run([]).lo).toBeNaN();
  });
});

describe("bootstrapNested", () => {
  /** Share of simulated data sets whose 95 % interval holds the true median 0. */
  function measureCoverage(groupCount: number, betweenSigma: number, trials: number, seed: number): number {
    const random = makeRandom(seed);
    const normal = makeNormalRandom(random);
    let covered = 0;
    for (let trial = 0; trial < trials; trial++) {
      const groups = Array.from({ length: groupCount }, () => {
        const offset = betweenSigma * normal();
        return Float64Array.from({ length: 15 }, () => offset + normal());
      });
      const interval = bootstrapNested(groups, mean, { random, resamples: 200 });
      if (interval.lo <= 0 && interval.hi >= 0) covered++;
    }
    return covered / trials;
  }

  // 300 data sets of 200 resamples: one standard error of a share near 95 % is 1.3 %; seeds 31..37
  it.each([
    [1, 0, 31],
    [3, 0, 32],
    [3, 0.3, 37],
    [3, 0.5, 33],
    [8, 0, 34],
    [8, 0.2, 35],
    [8, 1, 36],
  ])(
    "%i frames of 15 stars, scatter between frames %f of that within: the interval holds the truth in 90 to 98.5 of 100 (seed %i)",
    (groups, between, seed) => {
      const coverage = measureCoverage(groups, between, 300, seed);
      expect(coverage).toBeGreaterThan(0.9);
      expect(coverage).toBeLessThan(0.985);
    },
  );

  it("is wider than the stars alone would have it where frames differ (seed 9)", () => {
    const normal = makeNormalRandom(makeRandom(9));
    const groups = Array.from({ length: 6 }, (_, frame) =>
      Float64Array.from({ length: 100 }, () => (frame % 2) * 0.5 + 0.2 * normal()),
    );
    const nested = bootstrapNested(groups, median, { random: makeRandom(10), resamples: 500 });
    const pooled = groups.flatMap((group) => Array.from(group));
    const plain = bootstrapPercentile(pooled, median, { random: makeRandom(10), resamples: 500 });
    expect(nested.standardError).toBeGreaterThan(2 * plain.standardError);
    expect(nested.value).toBe(plain.value);
  });

  it("leaves out frames without a star, and has no interval for one star or none", () => {
    const random = makeRandom(2);
    const interval = bootstrapNested([[1, 2, 3, 4], [], [Number.NaN]], median, { random, resamples: 100 });
    expect(interval.value).toBe(2.5);
    expect(bootstrapNested([[3.2]], median, { random, resamples: 100 }).lo).toBeNaN();
    expect(bootstrapPercentile([3.2], median, { random, resamples: 100 }).lo).toBeNaN();
    expect(bootstrapBca(1, () => 3.2, { random, resamples: 100 }).lo).toBeNaN();
    expect(bootstrapNested([], median, { random, resamples: 100 }).hi).toBeNaN();
  });
});
