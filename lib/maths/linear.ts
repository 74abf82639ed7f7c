/**
 * Dense linear algebra for the small systems of curve fitting: matrices are row-major Float64Arrays.
 * NaN or infinity in, NaN out or null: nothing is repaired silently.
 */

/**
 * Lower triangular factor L of a symmetric positive definite matrix, A = L L^T; only the lower triangle of A is read.
 *
 * @returns L, row-major with zeros above the diagonal; null where A is not positive definite to working precision
 */
export function factorCholesky(matrix: ArrayLike<number>, size: number): Float64Array | null {
  const factor = new Float64Array(size * size);
  for (let column = 0; column < size; column++) {
    let pivot = matrix[column * size + column];
    for (let k = 0; k < column; k++) pivot -= factor[column * size + k] ** 2;
    // A pivot this small beside the diagonal is rounding, not information.
    if (!(pivot > size * Number.EPSILON * matrix[column * size + column])) return null;
    const root = Math.sqrt(pivot);
    factor[column * size + column] = root;
    for (let row = column + 1; row < size; row++) {
      let sum = matrix[row * size + column];
      for (let k = 0; k < column; k++) sum -= factor[row * size + k] * factor[column * size + k];
      factor[row * size + column] = sum / root;
    }
  }
  return factor;
}

/** Solves L L^T x = b for the factor of `factorCholesky`. */
export function solveCholesky(factor: Float64Array, right: ArrayLike<number>): Float64Array {
  const size = right.length;
  const solution = Float64Array.from(right);
  for (let row = 0; row < size; row++) {
    for (let k = 0; k < row; k++) solution[row] -= factor[row * size + k] * solution[k];
    solution[row] /= factor[row * size + row];
  }
  for (let row = size - 1; row >= 0; row--) {
    for (let k = row + 1; k < size; k++) solution[row] -= factor[k * size + row] * solution[k];
    solution[row] /= factor[row * size + row];
  }
  return solution;
}

/** Inverse of A from its Cholesky factor, for instance a covariance from a Fisher matrix. */
export function invertCholesky(factor: Float64Array, size: number): Float64Array {
  const inverse = new Float64Array(size * size);
  const unit = new Float64Array(size);
  for (let column = 0; column < size; column++) {
    unit.fill(0);
    unit[column] = 1;
    const solved = solveCholesky(factor, unit);
    for (let row = 0; row < size; row++) inverse[row * size + column] = solved[row];
  }
  return inverse;
}

/** A design matrix split as Q R by Householder reflections, columns scaled to unit length first. */
export interface QrFactors {
  rows: number;
  columns: number;
  /** Reflection vectors below and on the diagonal, R above it. */
  packed: Float64Array;
  /** Diagonal of R. */
  diagonal: Float64Array;
  /** Length of each column of the design, by which it was divided. */
  scale: Float64Array;
}

/**
 * Householder QR factors of a rows x columns design matrix (Golub & Van Loan, Matrix Computations, 5.2).
 * Works on the design itself, so that its condition number is not squared as in the normal equations;
 * unit columns make the polynomial designs of large abscissae harmless.
 *
 * @returns null where rows < columns, or where a column is a combination of the others to working precision
 */
export function factorQr(design: ArrayLike<number>, rows: number, columns: number): QrFactors | null {
  if (rows < columns || columns === 0) return null;
  const packed = Float64Array.from(design);
  const diagonal = new Float64Array(columns);
  const scale = new Float64Array(columns);
  for (let column = 0; column < columns; column++) {
    scale[column] = measureColumn(packed, rows, columns, column, 0);
    if (!(scale[column] > 0) || !Number.isFinite(scale[column])) return null;
    for (let row = 0; row < rows; row++) packed[row * columns + column] /= scale[column];
  }
  for (let k = 0; k < columns; k++) {
    let norm = measureColumn(packed, rows, columns, k, k);
    if (!(norm > 8 * rows * Number.EPSILON)) return null;
    if (packed[k * columns + k] < 0) norm = -norm;
    for (let row = k; row < rows; row++) packed[row * columns + k] /= norm;
    packed[k * columns + k] += 1;
    for (let column = k + 1; column < columns; column++) reflectColumn(packed, rows, columns, k, column);
    diagonal[k] = -norm;
  }
  return { rows, columns, packed, diagonal, scale };
}

function measureColumn(matrix: Float64Array, rows: number, columns: number, column: number, from: number) {
  let length = 0;
  for (let row = from; row < rows; row++) length = Math.hypot(length, matrix[row * columns + column]);
  return length;
}

function reflectColumn(packed: Float64Array, rows: number, columns: number, k: number, column: number): void {
  let sum = 0;
  for (let row = k; row < rows; row++) sum += packed[row * columns + k] * packed[row * columns + column];
  sum /= -packed[k * columns + k];
  for (let row = k; row < rows; row++) packed[row * columns + column] += sum * packed[row * columns + k];
}

/** The least-squares solution x of design x = right, length `columns`. */
export function solveQr(factors: QrFactors, right: ArrayLike<number>): Float64Array {
  const { rows, columns, packed, diagonal, scale } = factors;
  const rotated = Float64Array.from(right);
  for (let k = 0; k < columns; k++) {
    let sum = 0;
    for (let row = k; row < rows; row++) sum += packed[row * columns + k] * rotated[row];
    sum /= -packed[k * columns + k];
    for (let row = k; row < rows; row++) rotated[row] += sum * packed[row * columns + k];
  }
  const solution = new Float64Array(columns);
  for (let k = columns - 1; k >= 0; k--) {
    let value = rotated[k];
    for (let column = k + 1; column < columns; column++)
      value -= packed[k * columns + column] * solution[column];
    solution[k] = value / diagonal[k];
  }
  return solution.map((value, column) => value / scale[column]);
}

/** (design^T design)^-1 = R^-1 R^-T, row-major columns x columns. */
export function invertNormal(factors: QrFactors): Float64Array {
  const { columns, packed, diagonal, scale } = factors;
  const inverse = new Float64Array(columns * columns);
  for (let column = 0; column < columns; column++) {
    inverse[column * columns + column] = 1 / diagonal[column];
    for (let row = column - 1; row >= 0; row--) {
      let sum = 0;
      for (let k = row + 1; k <= column; k++)
        sum += packed[row * columns + k] * inverse[k * columns + column];
      inverse[row * columns + column] = -sum / diagonal[row];
    }
  }
  const product = new Float64Array(columns * columns);
  for (let row = 0; row < columns; row++) {
    for (let column = 0; column < columns; column++) {
      let sum = 0;
      for (let k = Math.max(row, column); k < columns; k++) {
        sum += inverse[row * columns + k] * inverse[column * columns + k];
      }
      product[row * columns + column] = sum / (scale[row] * scale[column]);
    }
  }
  return product;
}
