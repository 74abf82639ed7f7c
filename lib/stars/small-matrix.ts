/**
 * Inverts a symmetric positive-definite n x n matrix in place by its Cholesky factor; `false` (contents undefined)
 * when it is not positive definite. Row-major, both triangles filled. Small and free of allocation: it runs several
 * times for every star.
 */
export function invertSymmetric(matrix: Float64Array, n: number, factor: Float64Array): boolean {
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i * n + j];
      for (let k = 0; k < j; k++) sum -= factor[i * n + k] * factor[j * n + k];
      if (i === j) {
        // Below this share of the diagonal the pivot is rounding, not information.
        if (!(sum > 1e-14 * matrix[i * n + i])) return false;
        factor[i * n + i] = Math.sqrt(sum);
      } else {
        factor[i * n + j] = sum / factor[j * n + j];
      }
    }
  }
  for (let j = 0; j < n; j++) {
    factor[j * n + j] = 1 / factor[j * n + j];
    for (let i = j + 1; i < n; i++) {
      let sum = 0;
      for (let k = j; k < i; k++) sum -= factor[i * n + k] * factor[k * n + j];
      factor[i * n + j] = sum / factor[i * n + i];
    }
  }
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = 0;
      for (let k = i; k < n; k++) sum += factor[k * n + i] * factor[k * n + j];
      matrix[i * n + j] = sum;
      matrix[j * n + i] = sum;
    }
  }
  return true;
}
