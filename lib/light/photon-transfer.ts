import type { SitePattern } from "../frames/frame.ts";
import type { Estimate } from "./flat-measurement.ts";
import type { CellGrid } from "./reduce-cells.ts";

/** Level of two frames added, and the variance of their difference, ADU and ADU2, over the middle of one plane. */
export interface PairStatistics {
  sum: number;
  variance: number;
  /** Standard error of the variance. */
  varianceError: number;
  cells: number;
}

/**
 * Gain in electrons per ADU from a pair of flats and a pair of biases, and read noise in electrons:
 * g = [(F1 + F2) - (B1 + B2)] / (var(F1 - F2) - var(B1 - B2)),  r = g sd(B1 - B2) / sqrt 2.
 * Source: method of Janesick, in the help page of a general image-reduction package; Howell, Handbook of CCD Astronomy, 4.3.
 * The difference of two frames has no pixel-to-pixel sensitivity in it, which one flat alone would count as noise.
 */
export function transferPhotons(
  flat: { sum: number; variance: number },
  bias: { sum: number; variance: number },
): { gainElectronsPerAdu: number; readNoiseElectrons: number } {
  const gainElectronsPerAdu = (flat.sum - bias.sum) / (flat.variance - bias.variance);
  return { gainElectronsPerAdu, readNoiseElectrons: gainElectronsPerAdu * Math.sqrt(bias.variance / 2) };
}

/** Pixels further off than this many deviations of their own cell are left out; a normal cell loses 2e-5 of its variance. */
const clipAt = 5;

/**
 * Statistics of a pair of frames over the cells in the middle half of each side, cell by cell, so that neither the
 * fall-off of light nor a small change of level between the frames counts as noise. Struck and flickering pixels are left out.
 * Null where too few cells have pixels.
 */
export function measurePair(
  first: Uint16Array | Float32Array,
  second: Uint16Array | Float32Array,
  sites: SitePattern,
  grid: CellGrid,
): PairStatistics | null {
  const { cellPx, widthPx } = grid;
  const sums: number[] = [];
  const variances: number[] = [];
  const differences = new Float64Array(cellPx * cellPx);
  for (let row = Math.ceil(grid.rows / 4); row < Math.floor((3 * grid.rows) / 4); row++) {
    for (let column = Math.ceil(grid.columns / 4); column < Math.floor((3 * grid.columns) / 4); column++) {
      let [count, sum] = [0, 0];
      for (let y = row * cellPx; y < (row + 1) * cellPx; y++) {
        for (let x = column * cellPx; x < (column + 1) * cellPx; x++) {
          if (!sites[(x & 1) + 2 * (y & 1)]) continue;
          const k = y * widthPx + x;
          const difference = first[k] - second[k];
          if (Number.isNaN(difference)) continue;
          sum += first[k] + second[k];
          differences[count++] = difference;
        }
      }
      if (count < 8) continue;
      sums.push(sum / count);
      variances.push(clipVariance(differences, count));
    }
  }
  const cells = variances.length;
  if (cells < 4) return null;
  const mean = (values: readonly number[]) => values.reduce((total, value) => total + value, 0) / cells;
  const variance = mean(variances);
  const spread = mean(variances.map((value) => (value - variance) ** 2));
  return { sum: mean(sums), variance, varianceError: Math.sqrt(spread / cells), cells };
}

function clipVariance(values: Float64Array, count: number): number {
  let [low, high] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
  let variance = Number.NaN;
  for (let pass = 0, kept = 0; pass < 4; pass++) {
    let [sum, squares, n] = [0, 0, 0];
    for (let i = 0; i < count; i++) {
      const value = values[i];
      if (value < low || value > high) continue;
      sum += value;
      squares += value * value;
      n++;
    }
    const mean = sum / n;
    variance = n < 2 ? Number.NaN : Math.max(0, (squares - n * mean * mean) / (n - 1));
    if (n === kept) break;
    kept = n;
    const reach = clipAt * Math.sqrt(variance);
    [low, high] = [mean - reach, mean + reach];
  }
  return variance;
}

/** Variance that rounding to whole ADU adds to each sample (EMVA 1288: 1/12 ADU2). */
const roundingVariance = 1 / 12;

/**
 * Gain and read noise from all pairs of one plane, weighed alike. `pedestalSum` stands for the biases' level (twice the
 * pedestal) where there is no pair of them; the read noise is then unknown, and its small part in the flats' variance is left in.
 * `rounded` takes the rounding of whole numbers off the read noise.
 */
export function combinePairs(
  flats: readonly PairStatistics[],
  biases: readonly PairStatistics[],
  pedestalSum: number,
  rounded: boolean,
): { gain: Estimate; readNoise: Estimate | null } | null {
  if (flats.length === 0) return null;
  const average = (pairs: readonly PairStatistics[], read: (pair: PairStatistics) => number) =>
    pairs.reduce((total, pair) => total + read(pair), 0) / pairs.length;
  const bias =
    biases.length === 0
      ? { sum: pedestalSum, variance: 0 }
      : { sum: average(biases, ({ sum }) => sum), variance: average(biases, ({ variance }) => variance) };
  const single = flats.map((flat) => transferPhotons(flat, bias).gainElectronsPerAdu);
  const value = single.reduce((sum, gain) => sum + gain, 0) / single.length;
  const within = average(flats, (flat) => flat.varianceError / Math.max(1e-9, flat.variance - bias.variance));
  const between = Math.max(...single) - Math.min(...single);
  const gain = { value, error: Math.hypot((value * within) / Math.sqrt(flats.length), between / 2) };
  if (!(value > 0) || !Number.isFinite(value)) return null;
  if (biases.length === 0) return { gain, readNoise: null };
  const perFrame = Math.max(0, bias.variance / 2 - (rounded ? roundingVariance : 0));
  const noise = value * Math.sqrt(perFrame);
  const noiseWithin = average(biases, ({ varianceError, variance }) => varianceError / variance) / 2;
  return { gain, readNoise: { value: noise, error: noise * Math.hypot(noiseWithin, gain.error / value) } };
}
