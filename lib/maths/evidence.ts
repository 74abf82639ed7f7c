import { factorCholesky, solveCholesky } from "./linear.ts";

/** A solution under a prior, and how likely the data are under that prior. */
export interface PriorSolution {
  solution: Float64Array;
  /** Logarithm of the data's probability with the unknowns integrated out, up to a constant that no prior changes. */
  evidence: number;
}

/**
 * Solves a linear least-squares problem whose unknowns are expected about zero: `normal` and `right` are the sums of
 * weighted products of its derivatives with themselves and with the data, `precision` the prior's inverse covariance and
 * `lnDeterminant` the logarithm of that matrix' determinant. Matrices row-major, both triangles filled.
 *
 * Source of the evidence: MacKay 1992, Neural Computation 4:415, eq. 4.1 (there written for one scale).
 *
 * @returns null where the sum of both matrices has no inverse
 */
export function solveWithPrior(
  normal: Float64Array,
  right: Float64Array,
  precision: Float64Array,
  lnDeterminant: number,
): PriorSolution | null {
  const size = right.length;
  const factor = factorCholesky(
    normal.map((value, k) => value + precision[k]),
    size,
  );
  if (factor === null) return null;
  const solution = solveCholesky(factor, right);
  let evidence = lnDeterminant / 2;
  for (let k = 0; k < size; k++) evidence += (right[k] * solution[k]) / 2 - Math.log(factor[k * size + k]);
  return { solution, evidence };
}

/** Passes over all groups: the second seldom changes anything, the third never did. */
const passes = 3;

/**
 * Sizes of a prior's groups of unknowns under which the data are likeliest: one group after the other is tried at each of
 * `tried`, from `start` on, until none changes. `judge` gives the evidence, negative infinity where there is none.
 */
export function searchSizes(
  start: readonly number[],
  tried: readonly number[],
  judge: (sizes: readonly number[]) => number,
): number[] {
  let sizes = [...start];
  let best = judge(sizes);
  for (let pass = 0; pass < passes; pass++) {
    let changed = false;
    for (let group = 0; group < sizes.length; group++) {
      for (const size of tried) {
        if (size === sizes[group]) continue;
        const other = sizes.map((own, k) => (k === group ? size : own));
        const evidence = judge(other);
        if (!(evidence > best)) continue;
        best = evidence;
        sizes = other;
        changed = true;
      }
    }
    if (!changed) break;
  }
  return sizes;
}
