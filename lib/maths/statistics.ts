/**
 * Order statistics of samples. All take any array of numbers, leave it unchanged and look at its finite
 * members only: a NaN (a star that could not be fitted, a masked pixel) or an infinity counts as absent.
 * With no finite member the result is NaN.
 */

/** The finite members in ascending order, as a new array. */
export function sortFinite(values: ArrayLike<number>): Float64Array {
  const kept = new Float64Array(values.length);
  let count = 0;
  for (let index = 0; index < values.length; index++) {
    const value = values[index];
    if (Number.isFinite(value)) kept[count++] = value;
  }
  return kept.subarray(0, count).sort();
}

/** The middle of the finite members; the mean of the middle two where their number is even. */
export function median(values: ArrayLike<number>): number {
  return quantile(values, 0.5);
}

/**
 * Quantile of type 7 of Hyndman & Fan 1996 (American Statistician 50:361), the linear interpolation between
 * the order statistics at rank 1 + (n - 1) q that numpy and R take by default.
 *
 * @param q - 0..1; outside it the result is NaN
 */
export function quantile(values: ArrayLike<number>, q: number): number {
  return quantileOfSorted(sortFinite(values), q);
}

/** As `quantile`, for values that are finite and ascending already: for several quantiles of one sample. */
export function quantileOfSorted(sorted: ArrayLike<number>, q: number): number {
  const count = sorted.length;
  if (count === 0 || !(q >= 0 && q <= 1)) return Number.NaN;
  const rank = (count - 1) * q;
  const below = Math.floor(rank);
  const above = Math.min(below + 1, count - 1);
  return sorted[below] + (rank - below) * (sorted[above] - sorted[below]);
}

/** 1 / Phi^-1(3/4): makes the median absolute deviation of a normal sample its standard deviation. */
export const madToSigma = 1.482602218505602;

/**
 * Standard deviation estimated from the median absolute deviation about the median (Hampel 1974, JASA 69:383),
 * for a sample that is normal but for up to half of its members. Not corrected for small samples:
 * below about ten members it reads low.
 */
export function estimateMadSigma(values: ArrayLike<number>): number {
  const sorted = sortFinite(values);
  const middle = quantileOfSorted(sorted, 0.5);
  return madToSigma * quantileOfSorted(sorted.map((value) => Math.abs(value - middle)).sort(), 0.5);
}

/** Arithmetic mean of the finite members, by compensated summation (Neumaier 1974, ZAMM 54:39). */
export function mean(values: ArrayLike<number>): number {
  let sum = 0;
  let lost = 0;
  let count = 0;
  for (let index = 0; index < values.length; index++) {
    const value = values[index];
    if (!Number.isFinite(value)) continue;
    const next = sum + value;
    lost += Math.abs(sum) >= Math.abs(value) ? sum - next + value : value - next + sum;
    sum = next;
    count++;
  }
  return count === 0 ? Number.NaN : (sum + lost) / count;
}

/** Sample standard deviation (n - 1 in the denominator) of the finite members; NaN for fewer than two. */
export function standardDeviation(values: ArrayLike<number>): number {
  const middle = mean(values);
  let sum = 0;
  let count = 0;
  for (let index = 0; index < values.length; index++) {
    const value = values[index];
    if (!Number.isFinite(value)) continue;
    sum += (value - middle) ** 2;
    count++;
  }
  return count < 2 ? Number.NaN : Math.sqrt(sum / (count - 1));
}

/**
 * Weighted median: the value at which the running weight, in ascending order of value, reaches half of the whole
 * (the mean of two neighbours where it does so exactly between them). Members that are not finite, or whose
 * weight is not a positive finite number, count as absent.
 */
export function weightedMedian(values: ArrayLike<number>, weights: ArrayLike<number>): number {
  const order: number[] = [];
  let total = 0;
  for (let index = 0; index < values.length; index++) {
    if (!Number.isFinite(values[index]) || !(weights[index] > 0) || !Number.isFinite(weights[index]))
      continue;
    order.push(index);
    total += weights[index];
  }
  if (order.length === 0) return Number.NaN;
  order.sort((a, b) => values[a] - values[b]);
  const tolerance = 4 * Number.EPSILON * total;
  let running = 0;
  for (let place = 0; place < order.length; place++) {
    running += weights[order[place]];
    if (Math.abs(running - total / 2) <= tolerance && place + 1 < order.length) {
      return (values[order[place]] + values[order[place + 1]]) / 2;
    }
    if (running > total / 2) return values[order[place]];
  }
  return values[order[order.length - 1]];
}
