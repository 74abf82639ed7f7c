import { computeStudentQuantile } from "../maths/distributions.ts";
import { fitPolynomial } from "../maths/least-squares.ts";

/** A measured number with its one-sigma error. */
export interface Estimate {
  value: number;
  sigma: number;
}

/** A straight line in the spacing error, y = at0 + perMm s, with what the nights say of its error. */
export interface NightLine {
  at0: number;
  perMm: number;
  /** Variances and covariance of the two. */
  varianceAt0: number;
  variancePerMm: number;
  covariance: number;
  /** By how much the nights scatter about the line over what their own intervals allow; at least 1. */
  stretch: number;
  /** From a standard error to a 95 % reach. */
  reach: number;
  nights: number;
}

/**
 * What nights of one set-up scatter beyond their own intervals is not known beforehand but is not unbounded either: a
 * guess of one, worth as many degrees of freedom (chosen; held by the simulated histories of the tests).
 */
const guessFreedom = 6;

/**
 * Least-squares line through the nights, each weighted by its own interval. Nights that scatter more than their
 * intervals allow stretch the line's errors: chi-square over its degrees of freedom, drawn towards one where there are
 * few nights (as a prior scaled inverse chi-square would, Gelman et al., Bayesian Data Analysis, 2.6), and never below.
 *
 * Null with fewer than two nights or with one spacing only. With two nights the line has no scatter to judge.
 */
export function fitNights(spacingMm: readonly number[], values: readonly Estimate[]): NightLine | null {
  const weights = values.map(({ sigma }) => 1 / (sigma * sigma));
  const fit = fitPolynomial(
    spacingMm,
    values.map(({ value }) => value),
    1,
    { weights, errorsFrom: "weights" },
  );
  if (fit === null) return null;
  const freedom = fit.degreesOfFreedom;
  const chi2 = fit.residuals.reduce((sum, residual, k) => sum + weights[k] * residual * residual, 0);
  const stretch2 = Math.max(1, (chi2 + guessFreedom) / (freedom + guessFreedom));
  const [at0, perMm] = fit.coefficients;
  return {
    at0,
    perMm,
    varianceAt0: fit.covariance[0] * stretch2,
    variancePerMm: fit.covariance[3] * stretch2,
    covariance: fit.covariance[1] * stretch2,
    stretch: Math.sqrt(stretch2),
    reach: computeStudentQuantile(0.975, freedom + guessFreedom),
    nights: values.length,
  };
}

/** The line's value at a spacing error, with its one-sigma error. */
export function readLine(line: NightLine, spacingMm: number): Estimate {
  const variance =
    line.varianceAt0 + 2 * spacingMm * line.covariance + spacingMm * spacingMm * line.variancePerMm;
  return { value: line.at0 + line.perMm * spacingMm, sigma: Math.sqrt(Math.max(0, variance)) };
}

/** Where a line crosses zero, or why no interval holds it. */
export type ZeroCrossing =
  | { finite: true; x: number; lo: number; hi: number }
  | { finite: false; x: number; g: number };

/**
 * Zero of a line whose errors are known, by Fieller's theorem (Fieller 1954, J. R. Statist. Soc. B 16:175): all x with
 * (a + b x)^2 <= t^2 var(a + b x). Finite only where the slope differs from zero: g = t^2 var(b) / b^2 < 1.
 */
export function locateZero(line: NightLine): ZeroCrossing {
  const { at0: a, perMm: b, reach: t } = line;
  const x = -a / b;
  const g = (t * t * line.variancePerMm) / (b * b);
  if (!(g < 1)) return { finite: false, x, g };
  // (b2 - t2 vbb) x2 + 2 (ab - t2 vab) x + (a2 - t2 vaa) = 0
  const quadratic = b * b - t * t * line.variancePerMm;
  const linear = a * b - t * t * line.covariance;
  const constant = a * a - t * t * line.varianceAt0;
  const root = Math.sqrt(Math.max(0, linear * linear - quadratic * constant));
  return { finite: true, x, lo: (-linear - root) / quadratic, hi: (-linear + root) / quadratic };
}
