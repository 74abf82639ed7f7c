/**
 * Columns at which `row` exceeds `threshold` and all eight neighbours; of equal neighbours the first in reading order
 * counts, so that a plateau is met once and a frame read in bands gives what it gives when read whole. The neighbours
 * beyond the sides are missing. `groups`: first columns of the fours in which any exceeds its threshold.
 */
export function findRowMaxima(
  above: Float32Array,
  row: Float32Array,
  below: Float32Array,
  threshold: Float32Array,
  groups: Int32Array,
  found: Int32Array,
): number {
  const n = row.length;
  let count = 0;
  for (const first of groups) {
    for (let x = first; x < Math.min(first + 4, n); x++) {
      const value = row[x];
      if (!(value > threshold[x])) continue;
      if (x > 0 && (row[x - 1] >= value || above[x - 1] >= value || below[x - 1] > value)) continue;
      if (x < n - 1 && (row[x + 1] > value || above[x + 1] >= value || below[x + 1] > value)) continue;
      if (above[x] >= value || below[x] > value) continue;
      found[count++] = x;
    }
  }
  return count;
}

/** What the 3 x 3 neighbourhood of a maximum tells. */
export interface PeakShape {
  dx: number;
  dy: number;
  /** 1 - least / greatest curvature. */
  ridge: number;
  ridgeAngleDeg: number;
}

/**
 * Sub-pixel place and shape of a maximum. The place is the vertex of the parabola through the logarithms, exact for a
 * Gaussian, axis by axis; where a neighbour is not positive, through the values themselves.
 */
export function describePeak(
  above: Float32Array,
  row: Float32Array,
  below: Float32Array,
  x: number,
): PeakShape {
  const centre = row[x];
  const read = (values: Float32Array, at: number) => {
    const value = at < 0 || at >= values.length ? Number.NEGATIVE_INFINITY : values[at];
    return Number.isFinite(value) ? value : 0;
  };
  const left = read(row, x - 1);
  const right = read(row, x + 1);
  const up = read(above, x);
  const down = read(below, x);
  const fxx = left + right - 2 * centre;
  const fyy = up + down - 2 * centre;
  const fxy = (read(above, x - 1) + read(below, x + 1) - read(above, x + 1) - read(below, x - 1)) / 4;
  const mean = (fxx + fyy) / 2;
  const spread = Math.hypot((fxx - fyy) / 2, fxy);
  const greatest = mean - spread;
  const least = mean + spread;
  // The ridge runs along the direction of least curvature; y turns to point up.
  const angle = (0.5 * Math.atan2(-2 * fxy, fxx - fyy) * 180) / Math.PI;
  return {
    dx: findVertex(left, centre, right),
    dy: findVertex(up, centre, down),
    ridge: greatest < 0 ? Math.min(1, Math.max(0, 1 - least / greatest)) : 0,
    ridgeAngleDeg: (angle + 180) % 180,
  };
}

function findVertex(before: number, centre: number, after: number): number {
  let [a, b, c] = [before, centre, after];
  if (a > 0 && b > 0 && c > 0) [a, b, c] = [Math.log(a), Math.log(b), Math.log(c)];
  const curvature = a + c - 2 * b;
  if (!(curvature < 0)) return 0;
  return Math.min(0.5, Math.max(-0.5, (a - c) / (2 * curvature)));
}
