import { fitLeastSquares, type LinearFit } from "./least-squares.ts";
import { factorQr, invertNormal } from "./linear.ts";
import { madToSigma, median } from "./statistics.ts";

/** A straight line y = intercept + slope x. */
export interface RobustLine {
  intercept: number;
  slope: number;
  /** Points used. */
  count: number;
}

/**
 * Theil-Sen line: the median of the slopes of all pairs with different x (Theil 1950; Sen 1968, JASA 63:1379),
 * and the median of y - slope x. Holds with up to 29.3 % of the points anywhere at all.
 *
 * Time and memory grow as n^2: meant for up to some thousand points. Points with a NaN or infinity are left out;
 * NaN slope and intercept where no two points differ in x.
 */
export function fitTheilSen(x: ArrayLike<number>, y: ArrayLike<number>): RobustLine {
  const points: number[] = [];
  for (let index = 0; index < x.length; index++) {
    if (Number.isFinite(x[index]) && Number.isFinite(y[index])) points.push(index);
  }
  const slopes = new Float64Array((points.length * (points.length - 1)) / 2);
  let count = 0;
  for (let a = 0; a < points.length; a++) {
    for (let b = a + 1; b < points.length; b++) {
      const run = x[points[b]] - x[points[a]];
      if (run !== 0) slopes[count++] = (y[points[b]] - y[points[a]]) / run;
    }
  }
  const slope = median(slopes.subarray(0, count));
  const intercept = median(points.map((index) => y[index] - slope * x[index]));
  return { intercept, slope, count: points.length };
}

/** Huber's tuning constant: 95 % efficiency at the normal distribution (Huber 1981, Robust Statistics). */
export const huberLimit = 1.345;

/** A Huber regression; `residualSigma` is the robust scale of the residuals. */
export interface HuberFit extends LinearFit {
  /** Huber weight of each row: 1 where it fits, below 1 where it was held back; NaN where it was left out. */
  weights: Float64Array;
  /** Whether the coefficients had settled within the iterations allowed. */
  converged: boolean;
}

const iterationsAllowed = 200;

/**
 * Huber's M-estimate of linear regression by iteratively reweighted least squares (Huber 1981, ch. 7; scale by the
 * median absolute residual, renewed at each step). The covariance is his eq. 7.6.6 with the small-sample factor K^2.
 *
 * Rows with a NaN or infinity are left out. Residuals far away in y are held back; points far away in x are not.
 *
 * @param design - row-major, observed.length x columns
 * @returns null where least squares has no solution. An exact fit (scale 0) is returned as it is.
 */
export function fitHuber(
  design: ArrayLike<number>,
  observed: ArrayLike<number>,
  columns: number,
  limit = huberLimit,
): HuberFit | null {
  let fit = fitLeastSquares(design, observed, columns);
  if (fit === null) return null;
  let weights: Float64Array = fit.residuals.map((residual) => (Number.isNaN(residual) ? Number.NaN : 1));
  let scale = estimateScale(fit.residuals);
  let converged = scale === 0;
  for (let iteration = 0; iteration < iterationsAllowed && !converged; iteration++) {
    weights = fit.residuals.map((residual) => Math.min(1, (limit * scale) / Math.abs(residual)));
    const next = fitLeastSquares(design, observed, columns, { weights });
    if (next === null) break;
    converged = isSettled(fit.coefficients, next.coefficients);
    fit = next;
    scale = estimateScale(fit.residuals);
    if (scale === 0) converged = true;
  }
  const covariance = estimateHuberCovariance(design, fit.residuals, columns, scale, limit);
  return {
    ...fit,
    covariance,
    standardErrors: Float64Array.from({ length: columns }, (_, k) => Math.sqrt(covariance[k * columns + k])),
    residualSigma: scale,
    weights,
    converged,
  };
}

/** The residuals' own centre is taken as zero, as the fit has it. */
function estimateScale(residuals: Float64Array): number {
  return madToSigma * median(residuals.map(Math.abs));
}

function isSettled(before: Float64Array, after: Float64Array): boolean {
  return after.every(
    (value, k) => Math.abs(value - before[k]) <= 1e-11 * (Math.abs(value) + Math.abs(before[k])),
  );
}

function estimateHuberCovariance(
  design: ArrayLike<number>,
  residuals: Float64Array,
  columns: number,
  scale: number,
  limit: number,
): Float64Array {
  const rows = Array.from(residuals.keys()).filter((row) => Number.isFinite(residuals[row]));
  const used = new Float64Array(rows.length * columns);
  rows.forEach((row, place) => {
    for (let column = 0; column < columns; column++)
      used[place * columns + column] = design[row * columns + column];
  });
  const factors = factorQr(used, rows.length, columns);
  if (factors === null) return new Float64Array(columns * columns).fill(Number.NaN);
  let heldSquares = 0;
  let inside = 0;
  for (const row of rows) {
    heldSquares += Math.min(Math.abs(residuals[row]), limit * scale) ** 2;
    if (Math.abs(residuals[row]) <= limit * scale) inside++;
  }
  const count = rows.length;
  const share = inside / count;
  const correction = 1 + ((columns / count) * (1 - share)) / share;
  const factor = (correction ** 2 * heldSquares) / (count - columns) / share ** 2;
  return invertNormal(factors).map((value) => value * factor);
}
