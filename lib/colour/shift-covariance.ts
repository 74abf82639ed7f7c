import type { ShiftStars } from "./shift-model.ts";

/** A weighted solution of the shift model and what turns scores into errors. */
export interface SolvedShift {
  /** Inverse of the matrix of slopes, row-major. */
  inverse: Float64Array;
  residualX: Float64Array;
  residualY: Float64Array;
}

/**
 * Cluster-robust covariance: scores of one star are summed over its components and frames before they are squared, residuals are
 * corrected for leverage (MacKinnon & White 1985, J. Econometrics 29:305, HC3; Liang & Zeger 1986, Biometrika 73:13).
 *
 * @param rows - design rows, x and y of each star one after the other, `columns` numbers each
 */
export function estimateCovariance(
  rows: Float64Array,
  stars: ShiftStars,
  weight: Float64Array,
  solution: SolvedShift,
  columns: number,
): Float64Array {
  const { inverse } = solution;
  const scores = new Map<number, Float64Array>();
  for (let row = 0; row < weight.length; row++) {
    if (weight[row] === 0) continue;
    const score = scores.get(stars.star[row]) ?? new Float64Array(columns);
    scores.set(stars.star[row], score);
    for (const [offset, residual] of [
      [0, solution.residualX[row]],
      [columns, solution.residualY[row]],
    ]) {
      const at = 2 * row * columns + offset;
      let leverage = 0;
      for (let i = 0; i < columns; i++) {
        if (rows[at + i] === 0) continue;
        let sum = 0;
        for (let j = 0; j < columns; j++) sum += inverse[i * columns + j] * rows[at + j];
        leverage += rows[at + i] * sum;
      }
      const corrected = (weight[row] * residual) / Math.max(0.05, 1 - weight[row] * leverage);
      for (let i = 0; i < columns; i++) score[i] += rows[at + i] * corrected;
    }
  }
  const meat = new Float64Array(columns * columns);
  for (const score of scores.values()) {
    for (let i = 0; i < columns; i++) {
      for (let j = 0; j < columns; j++) meat[i * columns + j] += score[i] * score[j];
    }
  }
  return multiply(multiply(inverse, meat, columns), inverse, columns);
}

function multiply(left: Float64Array, right: Float64Array, size: number): Float64Array {
  const product = new Float64Array(size * size);
  for (let i = 0; i < size; i++) {
    for (let k = 0; k < size; k++) {
      const value = left[i * size + k];
      if (value === 0) continue;
      for (let j = 0; j < size; j++) product[i * size + j] += value * right[k * size + j];
    }
  }
  return product;
}
