/**
 * Cholesky factor of a symmetric positive definite band matrix, in place. `band` holds the lower half by rows: element
 * (i, j), i - width <= j <= i, at i * (width + 1) + j - i + width. Returns false where it is not positive definite.
 * Source: Golub & Van Loan, Matrix Computations, algorithm 4.3.5 (from memory).
 */
export function factorBand(band: Float64Array, size: number, width: number): boolean {
  const stride = width + 1;
  for (let i = 0; i < size; i++) {
    const rowI = i * stride + width - i;
    for (let j = Math.max(0, i - width); j <= i; j++) {
      const rowJ = j * stride + width - j;
      let sum = band[rowI + j];
      for (let k = Math.max(0, i - width, j - width); k < j; k++) sum -= band[rowI + k] * band[rowJ + k];
      if (j < i) band[rowI + j] = sum / band[rowJ + j];
      else if (sum > 0) band[rowI + i] = Math.sqrt(sum);
      else return false;
    }
  }
  return true;
}

/** Solves L y = right, in place. */
export function solveLower(band: Float64Array, size: number, width: number, right: Float64Array): void {
  const stride = width + 1;
  for (let i = 0; i < size; i++) {
    const row = i * stride + width - i;
    let sum = right[i];
    for (let k = Math.max(0, i - width); k < i; k++) sum -= band[row + k] * right[k];
    right[i] = sum / band[row + i];
  }
}

/** Solves L' x = right, in place. */
export function solveUpper(band: Float64Array, size: number, width: number, right: Float64Array): void {
  const stride = width + 1;
  for (let i = size - 1; i >= 0; i--) {
    right[i] /= band[i * stride + width];
    const row = i * stride + width - i;
    for (let k = Math.max(0, i - width); k < i; k++) right[k] -= band[row + k] * right[i];
  }
}
