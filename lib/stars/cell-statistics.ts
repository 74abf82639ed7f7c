import {
  type ClippedHistogram,
  chooseBinning,
  clearHistogram,
  clipHistogram,
  countFloat,
  countFloatSteps,
  countWhole,
  countWholeSteps,
} from "./cell-histogram.ts";
import type { SamplePlane } from "./samples.ts";

/** A uniform step of one ADU leaves this much scatter; integer samples cannot show less. */
const QUANTISATION_SIGMA = 1 / Math.sqrt(12);

export interface CellStatistics {
  /** Mode of the sky, ADU; NaN where the cell has no value. */
  level: number;
  /** Scatter of one pixel about its surroundings, ADU. */
  sigma: number;
  /** Values left inside the clip. */
  used: number;
}

const sparse = new Float32Array(1024);

/** The value of the given rank among the first n, which it puts in their halves (Hoare 1961, algorithm 65). */
function selectRank(values: Float32Array, n: number, rank: number): number {
  let low = 0;
  let high = n - 1;
  while (low < high) {
    const pivot = values[(low + high) >> 1];
    let i = low;
    let j = high;
    while (i <= j) {
      while (values[i] < pivot) i++;
      while (values[j] > pivot) j--;
      if (i <= j) {
        const value = values[i];
        values[i++] = values[j];
        values[j--] = value;
      }
    }
    if (rank <= j) high = j;
    else if (rank >= i) low = i;
    else break;
  }
  return values[rank];
}

/**
 * Median and lower half-spread (median - 16 % quantile, which stars do not reach) of a coarse lattice of values, and
 * whether they all are whole numbers, as raw samples stored as floats are.
 */
function probeCell(plane: SamplePlane, x0: number, x1: number, y0: number, y1: number) {
  const { samples, widthPx, sites } = plane;
  const step =
    2 * Math.max(1, Math.floor(Math.max(x1 - x0, y1 - y0) / (plane.sites.every(Boolean) ? 16 : 24)));
  let n = 0;
  for (let y = y0; y < y1; y += step) {
    for (let x = x0; x < x1; x += step) {
      for (let site = 0; site < 4; site++) {
        const xs = x + (site & 1);
        const ys = y + (site >> 1);
        if (!sites[(xs & 1) + 2 * (ys & 1)] || xs >= x1 || ys >= y1 || n >= sparse.length) continue;
        const value = samples[ys * widthPx + xs];
        if (Number.isFinite(value)) sparse[n++] = value;
      }
    }
  }
  if (n === 0) return null;
  let whole = true;
  for (let i = 0; i < n && whole; i++) whole = Number.isInteger(sparse[i]);
  const median = selectRank(sparse, n, n >> 1);
  return { median, spread: median - selectRank(sparse, n >> 1, Math.floor(0.1587 * n)), whole };
}

/** Steps from site to site within a row, and the first site at or after x0; null where the row has none. */
function walkRow(sites: SamplePlane["sites"], y: number, x0: number): { first: number; step: number } | null {
  const even = sites[2 * (y & 1)];
  const odd = sites[1 + 2 * (y & 1)];
  if (even && odd) return { first: x0, step: 1 };
  if (!even && !odd) return null;
  const parity = even ? 0 : 1;
  return { first: x0 + ((x0 & 1) === parity ? 0 : 1), step: 2 };
}

/**
 * Mode of a clipped sky: 2.5 median - 1.5 mean = mean - 2.5 (mean - median), the median alone where the two lie more than
 * 0.3 sigma apart (Bertin & Arnouts 1996, section 5). The mode has twice the noise of the mean, so only that part of the
 * difference counts that is more than its own standard error, 0.756 sigma / sqrt n for a normal law.
 */
function findLevel({ mean, median, sigma, used }: ClippedHistogram): number {
  const skew = mean - median;
  if (Math.abs(skew) > 0.3 * sigma) return median;
  const error = (0.756 * sigma) / Math.sqrt(used);
  return mean - 2.5 * Math.sign(skew) * Math.max(0, Math.abs(skew) - error);
}

/**
 * Sky level and pixel noise of the cell [x0, x1) x [y0, y1) of a plane; x0 and y0 even.
 *
 * Level: mode of the values left after clipping at 3 sigma about the median. Sigma: the same clip over the
 * differences of pixels two columns and two rows apart, over sqrt 2, so that gradients, nebulosity and glow are not
 * taken for noise while row and column noise is; both pixels belong to the same colour. Values that are not finite are
 * left out.
 */
export function measureCell(
  plane: SamplePlane,
  x0: number,
  x1: number,
  y0: number,
  y1: number,
): CellStatistics {
  const { samples, widthPx, heightPx, sites } = plane;
  const probe = probeCell(plane, x0, x1, y0, y1);
  if (probe === null) return { level: Number.NaN, sigma: Number.NaN, used: 0 };
  const integer = probe.whole;
  const spread = Math.max(probe.spread, integer ? QUANTISATION_SIGMA : 0);
  // Of a large cell, every second pair of rows fixes the level to 2.5 % of sigma, and every fourth the noise to 1.5 %; of a
  // small one, or one colour of a filter array, more rows are read for the same.
  const plenty = (x1 - x0) * (y1 - y0) * sites.filter(Boolean).length >= 4 * 8000;
  const skip = plenty ? 2 : 0;
  const skipSteps = plenty ? 6 : 0;
  const binning = chooseBinning(probe.median, spread, integer);
  clearHistogram();
  for (let y = y0; y < y1; y++) {
    if ((y & skip) !== 0) continue;
    const walk = walkRow(sites, y, x0);
    if (walk === null) continue;
    const from = y * widthPx + walk.first;
    if (samples instanceof Uint16Array) countWhole(samples, from, y * widthPx + x1, walk.step, binning);
    else countFloat(samples, from, y * widthPx + x1, walk.step, binning);
  }
  const sky = clipHistogram(binning, integer);
  if (sky === null) return { level: Number.NaN, sigma: Number.NaN, used: 0 };
  const level = findLevel(sky);

  const lag = 2 * widthPx + 2;
  const steps = chooseBinning(0, Math.SQRT2 * Math.max(sky.sigma, integer ? QUANTISATION_SIGMA : 0), integer);
  clearHistogram();
  for (let y = y0; y < Math.min(y1, heightPx - 2); y++) {
    if ((y & skipSteps) !== 0) continue;
    const walk = walkRow(sites, y, x0);
    if (walk === null) continue;
    const from = y * widthPx + walk.first;
    const to = y * widthPx + Math.min(x1, widthPx - 2);
    if (samples instanceof Uint16Array) countWholeSteps(samples, from, to, walk.step, lag, steps);
    else countFloatSteps(samples, from, to, walk.step, lag, steps);
  }
  const differences = clipHistogram(steps, integer);
  const sigma = differences === null || differences.used < 16 ? sky.sigma : differences.sigma / Math.SQRT2;
  return { level, sigma: integer ? Math.max(sigma, QUANTISATION_SIGMA) : sigma, used: sky.used };
}
