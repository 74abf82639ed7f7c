import { describe, expect, it } from "vitest";
import {
  factorCholesky,
  factorQr,
  invertCholesky,
  invertNormal,
  solveCholesky,
  solveQr,
} from "../../lib/maths/linear.ts";
import { makeRandom } from "../../lib/maths/random.ts";

function multiply(a: ArrayLike<number>, b: ArrayLike<number>, size: number): number[] {
  return Array.from({ length: size * size }, (_, place) => {
    const [row, column] = [Math.floor(place / size), place % size];
    let sum = 0;
    for (let k = 0; k < size; k++) sum += a[row * size + k] * b[k * size + column];
    return sum;
  });
}

describe("Cholesky factors", () => {
  // Worked by hand: L = [2 0 0; 6 1 0; -8 5 3]
  it("are 2; 6 1; -8 5 3 for the matrix 4 12 -16; 12 37 -43; -16 -43 98", () => {
    const factor = factorCholesky([4, 12, -16, 12, 37, -43, -16, -43, 98], 3);
    expect(Array.from(factor!)).toEqual([2, 0, 0, 6, 1, 0, -8, 5, 3]);
  });

  it("solve and invert: A x = b to 1e-12, A times its inverse is the unit matrix (seed 5)", () => {
    const random = makeRandom(5);
    const size = 6;
    const half = Float64Array.from({ length: size * size }, () => random() - 0.5);
    const transposed = half.map((_, place) => half[(place % size) * size + Math.floor(place / size)]);
    const matrix = multiply(half, transposed, size);
    const factor = factorCholesky(matrix, size)!;
    const right = [1, -2, 3, 0.5, 0, 4];
    const solution = solveCholesky(factor, right);
    for (let row = 0; row < size; row++) {
      const back = solution.reduce((sum, value, k) => sum + matrix[row * size + k] * value, 0);
      expect(back).toBeCloseTo(right[row], 9);
    }
    const product = multiply(matrix, invertCholesky(factor, size), size);
    product.forEach((value, place) => {
      expect(value).toBeCloseTo(place % (size + 1) === 0 ? 1 : 0, 9);
    });
  });

  it("do not exist for an indefinite, a singular or a NaN matrix: null", () => {
    expect(factorCholesky([1, 2, 2, 1], 2)).toBeNull();
    expect(factorCholesky([1, 1, 1, 1], 2)).toBeNull();
    expect(factorCholesky([Number.NaN, 0, 0, 1], 2)).toBeNull();
  });
});

describe("QR factors", () => {
  it("solve a square system exactly and a tall one in least squares, as the normal equations do", () => {
    expect(Array.from(solveQr(factorQr([2, 1, 1, 3], 2, 2)!, [3, 5]))).toEqual([
      expect.closeTo(0.8, 14),
      expect.closeTo(1.4, 14),
    ]);
    const design = [1, 0, 1, 1, 1, 2, 1, 3];
    const solution = solveQr(factorQr(design, 4, 2)!, [1, 3, 4, 4]);
    // normal equations by hand: slope 1, intercept 1.5
    expect(solution[0]).toBeCloseTo(1.5, 13);
    expect(solution[1]).toBeCloseTo(1, 13);
  });

  it("give the inverse of X^T X: 0.7 -0.3; -0.3 0.2 for abscissae 0, 1, 2, 3", () => {
    const inverse = invertNormal(factorQr([1, 0, 1, 1, 1, 2, 1, 3], 4, 2)!);
    [0.7, -0.3, -0.3, 0.2].forEach((value, place) => {
      expect(inverse[place]).toBeCloseTo(value, 14);
    });
  });

  it("do not exist where a column repeats another, is zero, or rows are too few: null", () => {
    expect(factorQr([1, 2, 2, 4, 3, 6], 3, 2)).toBeNull();
    expect(factorQr([1, 0, 2, 0, 3, 0], 3, 2)).toBeNull();
    expect(factorQr([1, 2], 1, 2)).toBeNull();
  });
});
