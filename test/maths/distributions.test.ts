import { describe, expect, it } from "vitest";
import {
  computeFisherTail,
  computeIncompleteBeta,
  computeLogGamma,
  computeNormalQuantile,
  computeNormalTail,
  computeStudentQuantile,
  computeStudentTail,
} from "../../lib/maths/distributions.ts";

/** Relative agreement; the tails need it. */
function expectNear(actual: number, expected: number, relative: number): void {
  expect(Math.abs(actual / expected - 1)).toBeLessThan(relative);
}

// Values without another source beside them: scipy 1.10.1 (stats.norm, stats.f, special.betainc, special.gammaln), November 2026.
describe("normal distribution", () => {
  it("agrees with scipy's tail from -8 to 4 within 1e-12", () => {
    const expected: [number, number][] = [
      [-8, 6.22096057427174e-16],
      [-3.5, 0.00023262907903552502],
      [-1, 0.15865525393145707],
      [0.3, 0.6179114221889526],
      [2, 0.9772498680518208],
      [4, 0.9999683287581669],
    ];
    for (const [z, tail] of expected) expectNear(computeNormalTail(z), tail, 1e-12);
    expect(computeNormalTail(0)).toBe(0.5);
    expect(computeNormalTail(Number.NaN)).toBeNaN();
  });

  it("agrees with scipy's quantiles within 1e-13: 1.959963984540054 at 0.975, -7.03448 at 1e-12", () => {
    const expected: [number, number][] = [
      [1e-12, -7.034483825301131],
      [1e-3, -3.090232306167813],
      [0.2, -0.8416212335729142],
      [0.975, 1.959963984540054],
    ];
    for (const [p, z] of expected) expectNear(computeNormalQuantile(p), z, 1e-13);
    expect(computeNormalQuantile(0.5)).toBeCloseTo(0, 15);
    expect(computeNormalQuantile(-0.1)).toBeNaN();
  });
});

describe("Student's t distribution", () => {
  // mpmath 1.2.1, root of the regularised incomplete beta function at 30 digits, November 2026. scipy 1.10.1's own t.ppf
  // differs from these by up to 2e-9 (7 degrees of freedom: 2.36462425101), so it is not the reference here; for 1 and 2
  // degrees of freedom the quantile has a closed form, tan(pi (p - 1/2)) and (2p - 1) sqrt(2 / (4 p (1 - p))).
  it("agrees with 30-digit quantiles within 1e-13 from 0.7 to 30 degrees of freedom, 1e-10 at a million", () => {
    const expected: [number, number, number][] = [
      [0.975, 1, Math.tan(Math.PI * 0.475)],
      [0.975, 2, (2 * 0.975 - 1) * Math.sqrt(2 / (4 * 0.975 * 0.025))],
      [0.975, 7, 2.364624251592785],
      [0.975, 30.5, 2.04086944518632],
      [0.995, 3, 5.840909309733355],
      [0.9, 0.7, 5.009947959646406],
      [1e-6, 4, -41.577854150450975],
      [0.975, 1e6, 1.9599663568141066],
    ];
    // At a million degrees of freedom ln Gamma is near 6,000,000, and rounding leaves ten digits of the tail.
    for (const [p, freedom, t] of expected) {
      expectNear(computeStudentQuantile(p, freedom), t, freedom > 1000 ? 1e-10 : 1e-13);
    }
  });

  it("differs from scipy 1.10.1's t.ppf(0.975, 7) = 2.36462425101 by 2.5e-10, which is scipy's error", () => {
    expectNear(computeStudentQuantile(0.975, 7), 2.3646242510102993, 3e-10);
  });

  it("is Cauchy's with one degree of freedom: P(T <= 1) = 3/4", () => {
    expect(computeStudentTail(1, 1)).toBeCloseTo(0.75, 14);
    expect(computeStudentQuantile(0.5, 3)).toBe(0);
    expect(computeStudentQuantile(0.975, 0)).toBeNaN();
  });
});

describe("incomplete beta function, F distribution, log gamma", () => {
  it("agree with scipy within 1e-12", () => {
    expectNear(computeIncompleteBeta(0.3, 2.5, 0.5), 0.01892712407194565, 1e-12);
    expectNear(computeFisherTail(1.7, 3, 20), 0.19914096910218781, 1e-12);
    expectNear(computeFisherTail(0.2, 1, 5), 0.6734284355375535, 1e-12);
    expectNear(computeLogGamma(0.5), 0.5723649429247, 1e-12);
    expectNear(computeLogGamma(7.3), 7.147892523022249, 1e-13);
  });
});
