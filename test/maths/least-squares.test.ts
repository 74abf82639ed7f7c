import { describe, expect, it } from "vitest";
import { fitLeastSquares, fitPolynomial } from "../../lib/maths/least-squares.ts";
import { norris, pontius } from "./nist-data.ts";

function expectNear(actual: number, expected: number, relative: number): void {
  expect(Math.abs(actual / expected - 1)).toBeLessThan(relative);
}

describe("NIST Statistical Reference Datasets, certified values", () => {
  it("Norris: coefficients, standard errors and residual scatter agree within 1e-10", () => {
    const fit = fitPolynomial(norris.x, norris.y, 1)!;
    expectNear(fit.coefficients[0], -0.262323073774029, 1e-10);
    expectNear(fit.coefficients[1], 1.00211681802045, 1e-12);
    expectNear(fit.standardErrors[0], 0.232818234301152, 1e-10);
    expectNear(fit.standardErrors[1], 0.000429796848199937, 1e-10);
    expectNear(fit.residualSigma, 0.884796396144373, 1e-10);
    expect(fit.degreesOfFreedom).toBe(34);
  });

  it("Pontius: the parabola's coefficients and scatter agree within 1e-8, though x runs to 3,000,000", () => {
    const fit = fitPolynomial(pontius.x, pontius.y, 2)!;
    expectNear(fit.coefficients[0], 6.73565789473684e-4, 1e-8);
    expectNear(fit.coefficients[1], 7.32059160401003e-7, 1e-8);
    expectNear(fit.coefficients[2], -3.16081871345029e-15, 1e-8);
    expectNear(fit.residualSigma, 2.05177424076185e-4, 1e-8);
  });

  it("NoInt2: the line through the origin has slope 0.727272727272727 +- 0.0420827318078432", () => {
    const fit = fitLeastSquares([4, 5, 6], [3, 4, 4], 1)!;
    expectNear(fit.coefficients[0], 0.727272727272727, 1e-13);
    expectNear(fit.standardErrors[0], 0.0420827318078432, 1e-13);
  });
});

describe("fitLeastSquares with weights", () => {
  const x = [0, 1, 2, 3, 4];
  const y = [1.1, 2.9, 5.2, 6.8, 9.3];
  const weights = [1, 4, 1, 0.25, 2];

  // numpy 1.24.2: inv(X.T W X), coefficients and residual variance, November 2026
  it("agrees with the matrix formula (X^T W X)^-1, scaled by the scatter or taken at its word", () => {
    const fit = fitPolynomial(x, y, 1, { weights })!;
    expect(fit.coefficients[0]).toBeCloseTo(0.8917938931297728, 12);
    expect(fit.coefficients[1]).toBeCloseTo(2.0910305343511446, 12);
    expect(fit.residualSigma).toBeCloseTo(0.20320272783727336, 12);
    expect(fit.covariance[1]).toBeCloseTo(-0.004649216731736699, 13);
    const absolute = fitPolynomial(x, y, 1, { weights, errorsFrom: "weights" })!;
    expect(absolute.covariance[0]).toBeCloseTo(0.3225190839694657, 12);
    expect(absolute.covariance[3]).toBeCloseTo(0.06297709923664123, 12);
  });

  it("leaves out a row with NaN or without weight, and says so by its residual and the count", () => {
    const fit = fitPolynomial([...x, 5, 6], [...y, Number.NaN, 99], 1, { weights: [...weights, 1, 0] })!;
    expect(fit.coefficients[1]).toBeCloseTo(2.0910305343511446, 12);
    expect(fit.count).toBe(5);
    expect(Array.from(fit.residuals.slice(5))).toEqual([Number.NaN, Number.NaN]);
  });

  it("is moved by c when y is moved by c, and scaled when y is scaled", () => {
    const fit = fitPolynomial(x, y, 1, { weights })!;
    const moved = fitPolynomial(
      x,
      y.map((value) => 10 * value + 3),
      1,
      { weights },
    )!;
    expect(moved.coefficients[0]).toBeCloseTo(10 * fit.coefficients[0] + 3, 11);
    expect(moved.standardErrors[1]).toBeCloseTo(10 * fit.standardErrors[1], 11);
  });

  it("has no solution with fewer rows than unknowns or with equal abscissae: null", () => {
    expect(fitPolynomial([1], [2], 1)).toBeNull();
    expect(fitPolynomial([2, 2, 2], [1, 2, 3], 1)).toBeNull();
    expect(fitPolynomial([], [], 1)).toBeNull();
  });
});
