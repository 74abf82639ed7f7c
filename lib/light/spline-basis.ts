/** Cubic B-splines on even knots. */

/** Values of the four splines that are not zero at t (0..1 of a knot interval), first to last, written into `into`. */
export function writeCubicWeights(t: number, into: Float64Array): void {
  const s = 1 - t;
  into[0] = (s * s * s) / 6;
  into[1] = (3 * t * t * t - 6 * t * t + 4) / 6;
  into[2] = (3 * s * s * s - 6 * s * s + 4) / 6;
  into[3] = (t * t * t) / 6;
}

/** Their slopes over one knot interval. */
export function writeCubicSlopes(t: number, into: Float64Array): void {
  const s = 1 - t;
  into[0] = (-s * s) / 2;
  into[1] = (3 * t * t - 4 * t) / 2;
  into[2] = (-3 * s * s + 4 * s) / 2;
  into[3] = (t * t) / 2;
}

/** Interval that holds `at` (in knot steps from the first knot) and the place in it, kept within the knots. */
export function findInterval(at: number, intervals: number): { first: number; t: number } {
  const first = Math.min(intervals - 1, Math.max(0, Math.floor(at)));
  return { first, t: at - first };
}
