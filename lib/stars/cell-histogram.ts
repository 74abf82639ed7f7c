/** Bins of a cell's histogram; the window is at most 256 bins of 1/25 sigma each, or one ADU a bin. */
const BINS = 256;
/** Half-width of the histogram's window in units of the first, rough sigma. */
const WINDOW_SIGMAS = 5;
/** Clip, in sigma about the median (Bertin & Arnouts 1996 A&AS 117:393, section 5). */
const CLIP_SIGMAS = 3;
/** Standard deviation of a unit normal law cut at 3 sigma: sqrt(1 - 6 phi(3) / erf(3 / sqrt 2)). */
const CLIPPED_SIGMA = 0.98658;
const counts = new Uint32Array(BINS);

/** Window of a histogram: value at the lower edge of bin 0 and width of a bin. */
export interface Binning {
  from: number;
  width: number;
}

/** Empties the histogram. There is one, used again for every cell. */
export function clearHistogram(): void {
  counts.fill(0);
}

/** Window about `centre`, wide enough for values of scatter `sigma`. */
export function chooseBinning(centre: number, sigma: number, integer: boolean): Binning {
  if (integer) {
    // Whole, equal numbers of ADU a bin, else a comb appears.
    let width = 1;
    while (2 * WINDOW_SIGMAS * sigma > width * BINS) width *= 2;
    return { from: Math.round(centre) - (width * BINS) / 2, width };
  }
  const width = Math.max((2 * WINDOW_SIGMAS * sigma) / BINS, Math.abs(centre) * 1e-6, 1e-30);
  return { from: centre - (width * BINS) / 2, width };
}

export function countWhole(samples: Uint16Array, from: number, to: number, step: number, b: Binning): void {
  const shift = Math.log2(b.width);
  const lower = b.from;
  for (let i = from; i < to; i += step) {
    const bin = (samples[i] - lower) >> shift;
    if (bin >= 0 && bin < BINS) counts[bin]++;
  }
}

export function countFloat(samples: Float32Array, from: number, to: number, step: number, b: Binning): void {
  const scale = 1 / b.width;
  const lower = b.from;
  for (let i = from; i < to; i += step) {
    const bin = (samples[i] - lower) * scale;
    if (bin >= 0 && bin < BINS) counts[bin | 0]++;
  }
}

export function countWholeSteps(
  samples: Uint16Array,
  from: number,
  to: number,
  step: number,
  lag: number,
  b: Binning,
): void {
  const shift = Math.log2(b.width);
  const lower = b.from;
  for (let i = from; i < to; i += step) {
    const bin = (samples[i + lag] - samples[i] - lower) >> shift;
    if (bin >= 0 && bin < BINS) counts[bin]++;
  }
}

export function countFloatSteps(
  samples: Float32Array,
  from: number,
  to: number,
  step: number,
  lag: number,
  b: Binning,
): void {
  const scale = 1 / b.width;
  const lower = b.from;
  for (let i = from; i < to; i += step) {
    const bin = (samples[i + lag] - samples[i] - lower) * scale;
    if (bin >= 0 && bin < BINS) counts[bin | 0]++;
  }
}

/** A clipped sky, ADU. */
export interface ClippedHistogram {
  median: number;
  mean: number;
  sigma: number;
  used: number;
}

/** Clips the histogram at 3 sigma about its median until nothing moves; all in ADU. */
export function clipHistogram(binning: Binning, integer: boolean): ClippedHistogram | null {
  let low = 0;
  let high = BINS;
  let result: ClippedHistogram | null = null;
  for (let round = 0; round < 12; round++) {
    let used = 0;
    let first = 0;
    let second = 0;
    for (let bin = low; bin < high; bin++) {
      const count = counts[bin];
      used += count;
      first += count * bin;
      second += count * bin * bin;
    }
    if (used === 0) return result;
    const mean = first / used;
    const sigma = Math.sqrt(Math.max(0, second / used - mean * mean));
    let bin = low;
    let below = 0;
    while (below + counts[bin] < used / 2) below += counts[bin++];
    const median = bin + (used / 2 - below) / counts[bin] - 0.5;
    // Bins of integers stand for `width` whole numbers from `from` on; those of floats for an interval.
    const centre = integer ? (binning.width - 1) / 2 : binning.width / 2;
    result = {
      median: binning.from + centre + median * binning.width,
      mean: binning.from + centre + mean * binning.width,
      sigma: (sigma * binning.width) / CLIPPED_SIGMA,
      used,
    };
    const reach = Math.max(1, (CLIP_SIGMAS * sigma) / CLIPPED_SIGMA);
    const nextLow = Math.max(0, Math.ceil(median - reach));
    const nextHigh = Math.min(BINS, Math.floor(median + reach) + 1);
    if (nextLow <= low && nextHigh >= high && round > 0) break;
    low = Math.max(low, nextLow);
    high = Math.min(high, nextHigh);
  }
  return result;
}
