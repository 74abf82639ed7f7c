import { fitHuber } from "../maths/robust-fit.ts";

/** Width against position: w = least sqrt(1 + ((p - best) / reach)^2). */
export interface WidthHyperbola {
  /** Position of the least width, in the unit of the positions. */
  best: number;
  /** Width there. */
  least: number;
  /** Distance from best focus at which the width has grown by the root of two. */
  reach: number;
  /** One-sigma uncertainty of `best` from the scatter about the curve; NaN with three points. */
  bestError: number;
  count: number;
}

/**
 * Fits the squares of widths by a parabola in the position, which is exact for second moments (ISO 11146-1:
 * d^2 = a + b z + c z^2) and near for widths at half maximum. Robust (Huber); each square is weighted by its own
 * uncertainty, 2 w sigma(w), with sigma(w) in proportion to w, so that the far-out points do not rule the fit.
 *
 * Pairs with a NaN are left out. Null with fewer than three positions, or where the squares do not open upwards or
 * have no positive least value: then no best focus follows.
 */
export function fitHyperbola(positions: ArrayLike<number>, widths: ArrayLike<number>): WidthHyperbola | null {
  const used = Array.from({ length: positions.length }, (_, k) => k).filter(
    (k) => Number.isFinite(positions[k]) && widths[k] > 0,
  );
  const distinct = new Set(used.map((k) => positions[k]));
  if (distinct.size < 3) return null;
  const middle = used.reduce((sum, k) => sum + positions[k], 0) / used.length;
  const span = Math.max(...used.map((k) => Math.abs(positions[k] - middle)));
  const design = used.flatMap((k) => {
    const u = (positions[k] - middle) / span;
    const weight = 1 / widths[k] ** 2;
    return [weight, weight * u, weight * u * u];
  });
  // Scaled by 1 / w^2 each observed square is 1.
  const fit = fitHuber(
    design,
    used.map(() => 1),
    3,
  );
  if (fit === null) return null;
  const [a, b, c] = fit.coefficients;
  const least2 = a - (b * b) / (4 * c);
  if (!(c > 0) || !(least2 > 0)) return null;
  const covariance = (i: number, j: number) => fit.covariance[3 * i + j];
  const [byB, byC] = [-1 / (2 * c), b / (2 * c * c)];
  const variance =
    byB ** 2 * covariance(1, 1) + byC ** 2 * covariance(2, 2) + 2 * byB * byC * covariance(1, 2);
  return {
    best: middle - (span * b) / (2 * c),
    least: Math.sqrt(least2),
    reach: span * Math.sqrt(least2 / c),
    bestError: used.length > 3 ? span * Math.sqrt(variance) : Number.NaN,
    count: used.length,
  };
}
