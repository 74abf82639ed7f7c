import { computeNormalQuantile, computeNormalTail } from "./distributions.ts";
import { drawIndex, type Random } from "./random.ts";
import { quantileOfSorted, sortFinite } from "./statistics.ts";

/** A statistic of a sample; it may be NaN where the sample does not determine it. */
export type Statistic = (sample: Float64Array) => number;

export interface BootstrapOptions {
  random: Random;
  /** How often the sample is drawn anew; 2000 where left out, enough for the ends of a 95 % interval. */
  resamples?: number;
  /** 0.95 where left out. */
  confidence?: number;
}

/**
 * A statistic with its interval; NaN ends where there are fewer than two values, or where the statistic could not be computed
 * on at least half of the resamples.
 */
export interface BootstrapInterval {
  value: number;
  lo: number;
  hi: number;
  /** Standard deviation of the statistic over the resamples. */
  standardError: number;
}

export const defaultResamples = 2000;
export const defaultConfidence = 0.95;

/** The statistic on `resamples` samples drawn with replacement from the finite members of `values`. */
export function resample(
  values: ArrayLike<number>,
  statistic: Statistic,
  options: BootstrapOptions,
): Float64Array {
  const sample = sortFinite(values);
  const drawn = new Float64Array(sample.length);
  return Float64Array.from({ length: options.resamples ?? defaultResamples }, () => {
    for (let place = 0; place < drawn.length; place++)
      drawn[place] = sample[drawIndex(options.random, drawn.length)];
    return statistic(drawn);
  });
}

/** Percentile interval (Efron 1979, Ann. Statist. 7:1; Efron & Tibshirani 1993, ch. 13) of a statistic of independent values. */
export function bootstrapPercentile(
  values: ArrayLike<number>,
  statistic: Statistic,
  options: BootstrapOptions,
): BootstrapInterval {
  const sample = sortFinite(values);
  if (sample.length < 2) return makeUndetermined(statistic(sample));
  return summarize(statistic(sample), resample(values, statistic, options), options.confidence);
}

/**
 * Bias-corrected and accelerated interval (Efron 1987, JASA 82:171; Efron & Tibshirani 1993, ch. 14) for a statistic of
 * the members of a sample given by index, so that members may be pairs or whole records.
 *
 * @param count - members of the sample, at least 2
 * @param statistic - of the members listed; gets each resample as an array of indices
 */
export function bootstrapBca(
  count: number,
  statistic: (members: Int32Array) => number,
  options: BootstrapOptions,
): BootstrapInterval {
  const all = Int32Array.from({ length: count }, (_, index) => index);
  const value = statistic(all);
  if (count < 2) return makeUndetermined(value);
  const drawn = new Int32Array(count);
  const replicates = Float64Array.from({ length: options.resamples ?? defaultResamples }, () => {
    for (let place = 0; place < count; place++) drawn[place] = drawIndex(options.random, count);
    return statistic(drawn);
  });
  const below = replicates.reduce(
    (sum, replicate) => sum + (replicate < value ? 1 : replicate === value ? 0.5 : 0),
    0,
  );
  const bias = computeNormalQuantile(below / replicates.length);
  const acceleration = estimateAcceleration(all.map(Number), statistic);
  const confidence = options.confidence ?? defaultConfidence;
  const shift = (z: number): number => computeNormalTail(bias + (bias + z) / (1 - acceleration * (bias + z)));
  const z = computeNormalQuantile(0.5 + confidence / 2);
  return summarize(value, replicates, confidence, [shift(-z), shift(z)]);
}

/** Skewness of the jackknife values over 6 (Efron & Tibshirani 1993, eq. 14.15). */
function estimateAcceleration(all: Int32Array, statistic: (members: Int32Array) => number): number {
  const left = Float64Array.from(all, (member) => statistic(all.filter((other) => other !== member)));
  const middle = left.reduce((sum, value) => sum + value, 0) / left.length;
  const squares = left.reduce((sum, value) => sum + (middle - value) ** 2, 0);
  const cubes = left.reduce((sum, value) => sum + (middle - value) ** 3, 0);
  return squares > 0 ? cubes / (6 * squares ** 1.5) : 0;
}

/** A value whose scatter nothing tells. */
export function makeUndetermined(value: number): BootstrapInterval {
  return { value, lo: Number.NaN, hi: Number.NaN, standardError: Number.NaN };
}

/** Value, ends and standard deviation of the replicates at the given tails. */
export function summarize(
  value: number,
  replicates: Float64Array,
  confidence = defaultConfidence,
  tails: [number, number] = [(1 - confidence) / 2, (1 + confidence) / 2],
): BootstrapInterval {
  const sorted = sortFinite(replicates);
  if (sorted.length < replicates.length / 2 || sorted.length === 0) {
    return makeUndetermined(value);
  }
  const middle = sorted.reduce((sum, replicate) => sum + replicate, 0) / sorted.length;
  const squares = sorted.reduce((sum, replicate) => sum + (replicate - middle) ** 2, 0);
  return {
    value,
    lo: quantileOfSorted(sorted, tails[0]),
    hi: quantileOfSorted(sorted, tails[1]),
    standardError: Math.sqrt(squares / Math.max(1, sorted.length - 1)),
  };
}
