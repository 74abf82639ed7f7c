import { describe, expect, it } from "vitest";
import { resampleByWeight } from "../../lib/maths/resample.ts";

describe("resampleByWeight(draws, weights)", () => {
  it("takes each draw as often as its weight asks for: weights 0, 2, 1, 1 give 2, 2, 3, 4 of 1, 2, 3, 4", () => {
    expect(resampleByWeight([1, 2, 3, 4], [0, 2, 1, 1])).toEqual([2, 2, 3, 4]);
  });

  it("keeps as many draws as there were, whatever the scale of the weights", () => {
    const draws = Array.from({ length: 97 }, (_, k) => k);
    const weights = draws.map((k) => Math.exp(-((k - 40) ** 2) / 200));
    const resampled = resampleByWeight(draws, weights);
    expect(resampled).toHaveLength(97);
    expect(
      resampleByWeight(
        draws,
        weights.map((weight) => 1000 * weight),
      ),
    ).toEqual(resampled);
    expect(Math.abs(resampled.reduce((sum, k) => sum + k, 0) / 97 - 40)).toBeLessThan(0.5);
  });

  it("leaves the draws as they are where no weight is above 0", () => {
    expect(resampleByWeight(["a", "b"], [0, 0])).toEqual(["a", "b"]);
  });
});
