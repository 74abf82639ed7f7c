import { computeStudentQuantile } from "./distributions.ts";
import { fitPolynomial } from "./least-squares.ts";

/** Where a fitted straight line crosses a level, with its interval. */
export type LineCrossing =
  | { determined: true; x: number; lo: number; hi: number; slope: number; count: number }
  /** The slope is not told apart from zero: no finite interval holds the crossing. */
  | { determined: false; g: number; slope: number; count: number };

/**
 * The x at which the least-squares line through the points takes the value `level`, with Fieller's interval
 * (Fieller 1954, J. R. Statist. Soc. B 16:175; Draper & Smith, Applied Regression Analysis, inverse regression):
 * with g = t^2 s^2 / (b^2 Sxx), the interval is finite only where g < 1, that is, where the slope is significant.
 *
 * Valid for independent errors of y of one size, x without error. Points with a NaN are left out.
 *
 * @param confidence - of the interval, 0.95 where left out
 * @returns `determined: false` also with fewer than three points or equal x (g is then infinite)
 */
export function locateCrossing(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  level = 0,
  confidence = 0.95,
): LineCrossing {
  const fit = fitPolynomial(x, y, 1);
  if (fit === null || fit.degreesOfFreedom < 1) {
    return { determined: false, g: Number.POSITIVE_INFINITY, slope: Number.NaN, count: fit?.count ?? 0 };
  }
  const used = Array.from(fit.residuals.keys()).filter((row) => !Number.isNaN(fit.residuals[row]));
  const count = used.length;
  const middle = used.reduce((sum, row) => sum + x[row], 0) / count;
  const spread = used.reduce((sum, row) => sum + (x[row] - middle) ** 2, 0);
  const [intercept, slope] = fit.coefficients;
  const t = computeStudentQuantile(0.5 + confidence / 2, fit.degreesOfFreedom);
  const s = fit.residualSigma;
  const g = (t * s) ** 2 / (slope ** 2 * spread);
  if (!(g < 1)) return { determined: false, g, slope, count };
  const crossing = (level - intercept) / slope;
  const offset = crossing - middle;
  const centre = middle + offset / (1 - g);
  const half =
    ((t * s) / (Math.abs(slope) * (1 - g))) * Math.sqrt((1 - g) / count + (offset * offset) / spread);
  return { determined: true, x: crossing, lo: centre - half, hi: centre + half, slope, count };
}
