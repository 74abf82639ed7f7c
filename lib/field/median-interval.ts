/** A median with the interval that the scatter of the values themselves gives it. */
export interface MedianInterval {
  median: number;
  lo: number;
  hi: number;
  n: number;
}

/**
 * Fewest values whose whole span holds the median 95 times in 100: the median lies outside only when all values fall
 * on one side, 2 (1/2)^n of the time, which is 6 % for five and 3 % for six.
 */
export const FEWEST_FOR_INTERVAL = 6;

const coverageWanted = 0.95;

/** ln of the binomial probabilities of k = 0..n at p = 1/2. */
function listBinomialHalf(n: number): Float64Array {
  const probability = new Float64Array(n + 1);
  let logChoose = -n * Math.LN2;
  for (let k = 0; k <= n; k++) {
    probability[k] = Math.exp(logChoose);
    logChoose += Math.log((n - k) / (k + 1));
  }
  return probability;
}

/** Where the interval's ends lie among the sorted values: the k-th from either end (k from 1), and how far on to the next. */
function placeEnds(n: number): { k: number; share: number } {
  if (n > 400) {
    // Normal limit of the binomial; at n = 400 it is within 0.1 of a rank of the exact place.
    const rank = (n + 1) / 2 - (1.959963984540054 * Math.sqrt(n)) / 2;
    return { k: Math.floor(rank), share: rank - Math.floor(rank) };
  }
  const probability = listBinomialHalf(n);
  let tail = probability[0];
  let k = 1;
  while (1 - 2 * (tail + probability[k]) >= coverageWanted) tail += probability[k++];
  const covered = 1 - 2 * tail;
  const coveredNext = 1 - 2 * (tail + probability[k]);
  const between = (covered - coverageWanted) / (covered - coveredNext);
  return { k, share: ((n - k) * between) / (k + (n - 2 * k) * between) };
}

const placeByCount = new Map<number, { k: number; share: number }>();

/**
 * Median of the values and its 95 % interval from order statistics, interpolated between neighbouring ranks so that
 * the coverage is near 95 % for few values too (Hettmansperger & Sheather 1986, Statistics & Probability Letters
 * 4:75). Nothing is assumed of the distribution; outliers weigh as one value each. Null below six values.
 * `sorted` is in ascending order, without NaN.
 */
export function computeMedianInterval(sorted: ArrayLike<number>): MedianInterval | null {
  const n = sorted.length;
  if (n < FEWEST_FOR_INTERVAL) return null;
  let place = placeByCount.get(n);
  if (place === undefined) {
    place = placeEnds(n);
    placeByCount.set(n, place);
  }
  const { k, share } = place;
  const half = n >> 1;
  return {
    median: n % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2,
    lo: sorted[k - 1] + share * (sorted[k] - sorted[k - 1]),
    hi: sorted[n - k] - share * (sorted[n - k] - sorted[n - k - 1]),
    n,
  };
}
