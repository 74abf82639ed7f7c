import { describe, expect, it } from "vitest";
import { locateCrossing } from "../../lib/maths/fieller.ts";
import { fitPolynomial } from "../../lib/maths/least-squares.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";

const x = [-4, -3, -2, -1, 0, 1, 2, 3, 4];
const y = [-8.3, -5.8, -4.4, -1.7, 0.7, 1.9, 4.6, 6.2, 8.4];

describe("locateCrossing", () => {
  // Fieller's formula worked with numpy 1.24 and scipy's t quantile on these nine points.
  it("puts the zero at -0.085745 with 95 % interval -0.217343..0.045410", () => {
    const crossing = locateCrossing(x, y);
    if (!crossing.determined) throw new Error("undetermined");
    expect(crossing.x).toBeCloseTo(-0.085745, 6);
    expect(crossing.lo).toBeCloseTo(-0.217343, 6);
    expect(crossing.hi).toBeCloseTo(0.04541, 6);
    expect(crossing.slope).toBeCloseTo(2.073333, 6);
  });

  // Slow twin: the interval's ends are where the fitted line's own confidence band reaches the level.
  it("ends where the band of the fitted line reaches the level 3", () => {
    const crossing = locateCrossing(x, y, 3);
    if (!crossing.determined) throw new Error("undetermined");
    const fit = fitPolynomial(x, y, 1)!;
    for (const end of [crossing.lo, crossing.hi]) {
      const [c00, c01, , c11] = fit.covariance;
      const error = Math.sqrt(c00 + 2 * c01 * end + c11 * end * end);
      const distance = Math.abs(fit.coefficients[0] + fit.coefficients[1] * end - 3);
      expect(distance / error).toBeCloseTo(2.364624252, 7); // t at 0.975 for 7 degrees of freedom
    }
  });

  it("says undetermined where the slope is not told from zero (g = 9 for slope 0.077 in scatter 0.76)", () => {
    const noise = [0.9, -0.7, 0.4, -0.9, 0.2, 1.1, -0.8, 0.6, -0.8];
    const crossing = locateCrossing(
      x,
      x.map((value, index) => 0.02 * value + noise[index]),
    );
    expect(crossing.determined).toBe(false);
    expect(locateCrossing([1, 2], [1, 2]).determined).toBe(false);
    expect(locateCrossing([1, 1, 1], [1, 2, 3]).determined).toBe(false);
  });

  it("follows a shift of x", () => {
    const moved = locateCrossing(
      x.map((value) => value + 100),
      y,
    );
    expect(moved.determined && moved.lo).toBeCloseTo(99.782657, 5);
  });

  // seed 21; 400 sets of 7 points, slope 1 and scatter 0.3: sd of the share is 1.1 %
  it("covers the true crossing in 92 to 98 % of 400 simulated ledgers", () => {
    const normal = makeNormalRandom(makeRandom(21));
    const spacing = [-0.8, -0.5, -0.3, 0, 0.2, 0.5, 0.9];
    let covered = 0;
    for (let trial = 0; trial < 400; trial++) {
      const crossing = locateCrossing(
        spacing,
        spacing.map((value) => value - 0.15 + 0.3 * normal()),
      );
      if (!crossing.determined || (crossing.lo <= 0.15 && crossing.hi >= 0.15)) covered++;
    }
    expect(covered / 400).toBeGreaterThan(0.92);
    expect(covered / 400).toBeLessThan(0.985);
  });
});
