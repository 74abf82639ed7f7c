import { describe, expect, it } from "vitest";
import { drawMedians, drawStudent } from "../../lib/maths/median-draws.ts";
import { drawIndex, makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import { median, quantile, standardDeviation } from "../../lib/maths/statistics.ts";

describe("drawStudent(normal, freedom)", () => {
  // Quantiles of Student's t from any table: 0.975 at 2, 5 and 60 degrees of freedom.
  it.each([
    [2, 4.303],
    [5, 2.571],
    [60, 2.0],
  ])(
    "has its 97.5 %% quantile at %i degrees of freedom at %f, within 3 %% (seed 11)",
    (freedom, expected) => {
      const normal = makeNormalRandom(makeRandom(11));
      const draws = Float64Array.from({ length: 60_000 }, () => drawStudent(normal, freedom));
      expect(Math.abs(quantile(draws, 0.975) / expected - 1)).toBeLessThan(0.03);
    },
  );
});

describe("drawMedians(sorted, count, random)", () => {
  it("scatters like medians of samples drawn with replacement one by one, within 4 % for 301 values (seeds 3, 4, 5)", () => {
    const normal = makeNormalRandom(makeRandom(3));
    const values = Float64Array.from({ length: 301 }, () => 3 + 0.1 * normal()).sort();
    const random = makeRandom(4);
    const plain = Float64Array.from({ length: 6000 }, () =>
      median(Float64Array.from(values, () => values[drawIndex(random, values.length)])),
    );
    const drawn = drawMedians(values, 6000, makeRandom(5));
    expect(Math.abs(standardDeviation(drawn) / standardDeviation(plain) - 1)).toBeLessThan(0.04);
    expect(Math.abs(median(drawn) - median(plain))).toBeLessThan(0.002);
  });

  it.each([6, 12, 60])(
    "holds the true median of a skewed law in 92 to 98.5 %% of 2,000 samples of %i values (seed 21)",
    (size) => {
      const random = makeRandom(21);
      let held = 0;
      for (let trial = 0; trial < 2000; trial++) {
        const sample = Float64Array.from({ length: size }, () => -Math.log(1 - random())).sort();
        const draws = drawMedians(sample, 400, random);
        if (quantile(draws, 0.025) <= Math.LN2 && quantile(draws, 0.975) >= Math.LN2) held++;
      }
      expect(held / 2000).toBeGreaterThan(0.92);
      expect(held / 2000).toBeLessThan(0.985);
    },
  );
});
