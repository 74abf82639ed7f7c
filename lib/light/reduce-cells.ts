import type { SitePattern } from "../frames/frame.ts";

/** Square cells over a frame, row by row from the upper left; the last of a row or column may be smaller. */
export interface CellGrid {
  widthPx: number;
  heightPx: number;
  cellPx: number;
  columns: number;
  rows: number;
}

/**
 * Cells of an even side, about 260 across a 26 megapixel frame: small enough that the light changes by less than its noise
 * across one, large enough (576 px) that a cell's mean is known to a fortieth of a percent of a well exposed flat.
 */
export function makeCellGrid(widthPx: number, heightPx: number): CellGrid {
  const cellPx = Math.min(48, Math.max(8, 2 * Math.round(widthPx / 520)));
  return {
    widthPx,
    heightPx,
    cellPx,
    columns: Math.ceil(widthPx / cellPx),
    rows: Math.ceil(heightPx / cellPx),
  };
}

/** One plane of one frame in cells. */
export interface PlaneCells {
  /** Mean of a cell's pixels without its outliers, ADU; NaN where too few pixels are left. */
  mean: Float64Array;
  /** Pixels looked at, left out as outliers, and at or above saturation. */
  pixels: number;
  leftOut: number;
  saturated: number;
}

/** Pixels further off than this many deviations of their own cell are hot, dead or struck (common practice, no source). */
const clipAt = 4;
const passes = 3;
/** A cell with less than this share of its pixels left says nothing. */
const leastLeft = 0.5;

/**
 * Means of the cells of one colour plane, outliers left out: pixels beyond 4 standard deviations of their own cell, in
 * three passes. NaN samples are left out. Saturated samples count and stay in: a plane with many of them is refused by
 * `findExposureFaults`.
 */
export function reduceCells(
  samples: Uint16Array | Float32Array,
  sites: SitePattern,
  grid: CellGrid,
  saturationAdu: number | null,
): PlaneCells {
  const { widthPx, heightPx, cellPx, columns, rows } = grid;
  const mean = new Float64Array(columns * rows);
  const scratch = new Float64Array(cellPx * cellPx);
  const top = saturationAdu ?? Number.POSITIVE_INFINITY;
  let [pixels, leftOut, saturated] = [0, 0, 0];
  for (let row = 0; row < rows; row++) {
    const [y0, y1] = [row * cellPx, Math.min(heightPx, (row + 1) * cellPx)];
    for (let column = 0; column < columns; column++) {
      const [x0, x1] = [column * cellPx, Math.min(widthPx, (column + 1) * cellPx)];
      let count = 0;
      for (let y = y0; y < y1; y++) {
        const [even, odd] = [sites[2 * (y & 1)], sites[2 * (y & 1) + 1]];
        if (!even && !odd) continue;
        // Cells begin on even columns, so that a plane's sites lie alike in all of them.
        const step = even && odd ? 1 : 2;
        for (let i = y * widthPx + x0 + (even ? 0 : 1); i < y * widthPx + x1; i += step) {
          const value = samples[i];
          if (value >= top) saturated++;
          if (!Number.isNaN(value)) scratch[count++] = value;
        }
      }
      pixels += count;
      const cell = clipMean(scratch, count);
      leftOut += cell.leftOut;
      mean[row * columns + column] = cell.mean;
    }
  }
  return { mean, pixels, leftOut, saturated };
}

function clipMean(values: Float64Array, count: number): { mean: number; leftOut: number } {
  if (count === 0) return { mean: Number.NaN, leftOut: 0 };
  let [low, high] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  let mean = Number.NaN;
  let kept = 0;
  for (let pass = 0; pass <= passes; pass++) {
    // About the first value: keeps the sum of squares from losing digits.
    const base = values[0];
    let [sum, squares, n] = [0, 0, 0];
    for (let i = 0; i < count; i++) {
      const value = values[i];
      if (value < low || value > high) continue;
      const d = value - base;
      sum += d;
      squares += d * d;
      n++;
    }
    if (n < 2) return { mean: n === 1 && count === 1 ? base + sum : Number.NaN, leftOut: count - n };
    mean = base + sum / n;
    const settled = n === kept;
    kept = n;
    if (settled) break;
    const sigma = Math.sqrt(Math.max(0, squares / n - (sum / n) ** 2));
    [low, high] = [mean - clipAt * sigma, mean + clipAt * sigma];
  }
  return { mean: kept < leastLeft * count ? Number.NaN : mean, leftOut: count - kept };
}
