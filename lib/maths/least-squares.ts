import { factorQr, invertNormal, type QrFactors, solveQr } from "./linear.ts";

/** A fit of observed = design x coefficients. */
export interface LinearFit {
  coefficients: Float64Array;
  /** Row-major covariance of the coefficients; see `errorsFrom`. */
  covariance: Float64Array;
  standardErrors: Float64Array;
  /** Observed minus fitted, in the order given; NaN where the row was left out. */
  residuals: Float64Array;
  /** Root of the weighted sum of squared residuals over the degrees of freedom; NaN without any. */
  residualSigma: number;
  /** Rows used less coefficients. */
  degreesOfFreedom: number;
  /** Rows used. */
  count: number;
}

export interface LeastSquaresOptions {
  /** One per row, 1 over the variance of the observation (or proportional to it); 1 each where left out. */
  weights?: ArrayLike<number>;
  /**
   * "residuals" (the default): weights are relative, and the scatter about the fit gives the errors;
   * "weights": weights are 1 / variance and are taken at their word.
   */
  errorsFrom?: "residuals" | "weights";
}

/**
 * Weighted linear least squares by Householder QR with one step of iterative refinement (Bjorck 1996,
 * Numerical Methods for Least Squares Problems, 2.9): covariance (X^T W X)^-1, times the residual variance
 * where the weights are relative.
 *
 * Rows with a NaN or infinite value, or with a weight that is not positive and finite, are left out.
 *
 * @param design - row-major, observed.length x columns
 * @returns null where there are fewer usable rows than columns, or the columns are not independent
 */
export function fitLeastSquares(
  design: ArrayLike<number>,
  observed: ArrayLike<number>,
  columns: number,
  options: LeastSquaresOptions = {},
): LinearFit | null {
  const used = listUsableRows(design, observed, columns, options.weights);
  const rows = used.length;
  const scaledDesign = new Float64Array(rows * columns);
  const scaledObserved = new Float64Array(rows);
  for (let place = 0; place < rows; place++) {
    const row = used[place];
    const root = options.weights === undefined ? 1 : Math.sqrt(options.weights[row]);
    for (let column = 0; column < columns; column++) {
      scaledDesign[place * columns + column] = root * design[row * columns + column];
    }
    scaledObserved[place] = root * observed[row];
  }
  const factors = factorQr(scaledDesign, rows, columns);
  if (factors === null) return null;
  const coefficients = refineSolution(factors, scaledDesign, scaledObserved);
  const scaledResiduals = subtractFit(scaledDesign, scaledObserved, coefficients);
  const squares = scaledResiduals.reduce((sum, residual) => sum + residual * residual, 0);
  const degreesOfFreedom = rows - columns;
  const variance = degreesOfFreedom > 0 ? squares / degreesOfFreedom : Number.NaN;
  const factor = options.errorsFrom === "weights" ? 1 : variance;
  const covariance = invertNormal(factors).map((value) => value * factor);
  const usable = new Set(used);
  const residuals = subtractFit(design, observed, coefficients).map((residual, row) =>
    usable.has(row) ? residual : Number.NaN,
  );
  return {
    coefficients,
    covariance,
    standardErrors: Float64Array.from(coefficients, (_, k) => Math.sqrt(covariance[k * columns + k])),
    residuals,
    residualSigma: Math.sqrt(variance),
    degreesOfFreedom,
    count: rows,
  };
}

/** Fits a polynomial a0 + a1 x + ... of the given degree; degree 1 is the straight line. */
export function fitPolynomial(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  degree: number,
  options: LeastSquaresOptions = {},
): LinearFit | null {
  const columns = degree + 1;
  const design = new Float64Array(x.length * columns);
  for (let row = 0; row < x.length; row++) {
    for (let power = 0; power < columns; power++) design[row * columns + power] = x[row] ** power;
  }
  return fitLeastSquares(design, y, columns, options);
}

function listUsableRows(
  design: ArrayLike<number>,
  observed: ArrayLike<number>,
  columns: number,
  weights: ArrayLike<number> | undefined,
): number[] {
  const rows: number[] = [];
  for (let row = 0; row < observed.length; row++) {
    let sum = observed[row];
    for (let column = 0; column < columns; column++) sum += design[row * columns + column];
    if (!Number.isFinite(sum)) continue;
    if (weights !== undefined && !(weights[row] > 0 && Number.isFinite(weights[row]))) continue;
    rows.push(row);
  }
  return rows;
}

function refineSolution(factors: QrFactors, design: Float64Array, observed: Float64Array): Float64Array {
  const first = solveQr(factors, observed);
  const correction = solveQr(factors, subtractFit(design, observed, first));
  return first.map((value, k) => value + correction[k]);
}

function subtractFit(
  design: ArrayLike<number>,
  observed: ArrayLike<number>,
  coefficients: Float64Array,
): Float64Array {
  const columns = coefficients.length;
  return Float64Array.from({ length: observed.length }, (_, row) => {
    let residual = observed[row];
    for (let column = 0; column < columns; column++)
      residual -= design[row * columns + column] * coefficients[column];
    return residual;
  });
}
