import { describe, expect, it } from "vitest";
import { fitPolynomial } from "../../lib/maths/least-squares.ts";
import { fitHuber, fitTheilSen } from "../../lib/maths/robust-fit.ts";

describe("fitTheilSen", () => {
  const x = Array.from({ length: 10 }, (_, index) => index);
  const y = x.map((value) => (value === 9 ? 100 : 2 * value + 1));

  // Closed form: 36 of the 45 slopes are exactly 2. Least squares for contrast: slope 6.418, intercept -10.78.
  it("finds y = 2 x + 1 although one of ten points lies at 100, where least squares reads slope 6.418", () => {
    expect(fitTheilSen(x, y)).toEqual({ slope: 2, intercept: 1, count: 10 });
    expect(fitPolynomial(x, y, 1)!.coefficients[1]).toBeCloseTo(6.418, 3);
    expect(fitPolynomial(x, y, 1)!.coefficients[0]).toBeCloseTo(-10.78, 2);
  });

  it("leaves out NaN, and has no slope where all x are equal", () => {
    expect(fitTheilSen([...x, Number.NaN], [...y, 3]).slope).toBe(2);
    expect(fitTheilSen([1, 1], [0, 5]).slope).toBeNaN();
  });
});

/** Brownlee's stack loss data: air flow, water temperature, acid concentration, loss (Brownlee 1965, Statistical Theory and Methodology). */
const stackLoss = [
  [80, 27, 89, 42],
  [80, 27, 88, 37],
  [75, 25, 90, 37],
  [62, 24, 87, 28],
  [62, 22, 87, 18],
  [62, 23, 87, 18],
  [62, 24, 93, 19],
  [62, 24, 93, 20],
  [58, 23, 87, 15],
  [58, 18, 80, 14],
  [58, 18, 89, 14],
  [58, 17, 88, 13],
  [58, 18, 82, 11],
  [58, 19, 93, 12],
  [50, 18, 89, 8],
  [50, 18, 86, 7],
  [50, 19, 72, 8],
  [50, 19, 79, 8],
  [50, 20, 80, 9],
  [56, 20, 82, 15],
  [70, 20, 91, 15],
];

describe("fitHuber", () => {
  const design = stackLoss.flatMap(([air, water, acid]) => [1, air, water, acid]);
  const loss = stackLoss.map((row) => row[3]);

  // Published example of the statsmodels documentation, robust linear models: HuberT, MAD scale, stack loss.
  it("agrees with the published Huber fit of the stack loss data: coefficients to 1e-6, standard errors to 1e-5", () => {
    const fit = fitHuber(design, loss, 4)!;
    expect(fit.converged).toBe(true);
    [-41.02649835, 0.82938433, 0.92606597, -0.12784672].forEach((value, k) => {
      expect(Math.abs(fit.coefficients[k] / value - 1)).toBeLessThan(1e-6);
    });
    [9.79189854, 0.11100521, 0.30293016, 0.12864961].forEach((value, k) => {
      expect(Math.abs(fit.standardErrors[k] / value - 1)).toBeLessThan(1e-5);
    });
  });

  it("leaves a clean line alone: an exact fit has scale 0 and weights of 1", () => {
    const fit = fitHuber([1, 0, 1, 1, 1, 2, 1, 3], [1, 3, 5, 7], 2)!;
    expect(fit.coefficients[1]).toBeCloseTo(2, 13);
    expect(fit.residualSigma).toBeLessThan(1e-13);
    expect(Array.from(fit.weights).every((weight) => weight > 0)).toBe(true);
  });

  it("does not see a row with NaN", () => {
    const fit = fitHuber([...design, 1, 60, 20, 80], [...loss, Number.NaN], 4)!;
    expect(fit.coefficients[1]).toBeCloseTo(0.82938433, 6);
    expect(fit.weights[21]).toBeNaN();
    expect(fit.count).toBe(21);
  });
});
