import type { EdgeSpread } from "./edge-measurement.ts";

/** Bins of the super-sampled edge for each px: four, as ISO 12233 has it. */
export const edgeOversampling = 4;

/** Sums of light and of distances by distance from the edge; bin k holds distances about (k - middle) / 4 px. */
export interface EdgeBins {
  sums: Float64Array;
  distances: Float64Array;
  counts: Float64Array;
}

export function makeEdgeBins(reachPx: number): EdgeBins {
  const bins = 2 * reachPx * edgeOversampling + 1;
  return {
    sums: new Float64Array(bins),
    distances: new Float64Array(bins),
    counts: new Float64Array(bins),
  };
}

/** Adds a sample at a distance outwards from the edge; beyond the reach it is left out. */
export function addEdgeSample(
  { sums, distances, counts }: EdgeBins,
  distancePx: number,
  value: number,
): void {
  const at = distancePx * edgeOversampling + (sums.length - 1) / 2;
  const bin = Math.round(at);
  if (bin < 0 || bin >= sums.length || !Number.isFinite(value)) return;
  sums[bin] += value;
  distances[bin] += at;
  counts[bin]++;
}

/** Least share of bins that samples must reach; the others are filled from both sides. */
const leastFilled = 0.7;

/**
 * The profile at the bins' middles. Where the limb runs along the rows of pixels samples crowd at a few distances, so each
 * bin's mean stands at its samples' mean distance and the middles are read off between them.
 */
function averageBins({ sums, distances, counts }: EdgeBins): Float64Array | null {
  const known = Array.from(counts.keys()).filter((k) => counts[k] > 0);
  if (known.length < leastFilled * counts.length || known.length < 2) return null;
  const at = known.map((k) => distances[k] / counts[k]);
  const light = known.map((k) => sums[k] / counts[k]);
  let next = 1;
  return Float64Array.from(counts, (_, k) => {
    while (next < known.length - 1 && at[next] < k) next++;
    const share = Math.max(0, Math.min(1, (k - at[next - 1]) / (at[next] - at[next - 1])));
    return light[next - 1] + share * (light[next] - light[next - 1]);
  });
}

/** Straight line through profile[from..to], by least squares: value and slope at bin 0. */
function fitLine(profile: Float64Array, from: number, to: number): { at0: number; slope: number } {
  let [n, sx, sy, sxx, sxy] = [0, 0, 0, 0, 0];
  for (let k = from; k <= to; k++) {
    n++;
    sx += k;
    sy += profile[k];
    sxx += k * k;
    sxy += k * profile[k];
  }
  const slope = (n * sxy - sx * sy) / (n * sxx - sx * sx);
  return { at0: (sy - slope * sx) / n, slope };
}

/** First place, from the bright side outwards, where a falling profile passes a level; NaN where it never does. */
function findFall(profile: Float64Array, level: number): number {
  for (let k = 1; k < profile.length; k++) {
    if (profile[k] <= level && profile[k - 1] > level)
      return k - 1 + (profile[k - 1] - level) / (profile[k - 1] - profile[k]);
  }
  return Number.NaN;
}

/**
 * The edge freed of what is not edge: the sky's slope taken off, the disc's own slope (limb darkening) divided out, so that
 * it falls from 1 to 0. Slopes are read from the outer third on either side. Null without contrast.
 */
function normalizeEdge(profile: Float64Array): Float64Array | null {
  const third = Math.floor(profile.length / 3);
  const sky = fitLine(profile, profile.length - third, profile.length - 1);
  const bare = profile.map((value, k) => value - sky.at0 - sky.slope * k);
  const disc = fitLine(bare, 0, third - 1);
  const edge = (profile.length - 1) / 2;
  const level = disc.at0 + disc.slope * edge;
  if (!(level > 0) || !(disc.at0 > 0)) return null;
  // Beyond the edge the disc's line means nothing: it is held at its value there.
  return bare.map((value, k) => value / (disc.at0 + disc.slope * Math.min(k, edge)));
}

const sinc = (x: number): number => (x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x));

/** Modulus of the line spread's Fourier transform at a frequency in cycles a px. */
function transform(line: Float64Array, frequency: number): number {
  let [real, imaginary] = [0, 0];
  for (let k = 0; k < line.length; k++) {
    const phase = (2 * Math.PI * frequency * k) / edgeOversampling;
    real += line[k] * Math.cos(phase);
    imaginary += line[k] * Math.sin(phase);
  }
  return Math.hypot(real, imaginary);
}

/**
 * Modulation transfer at a frequency, cycles a px: 1 at zero. The derivative's own transfer, sin(2 pi f d) / (2 pi f d)
 * for the filter [-1/2, 0, 1/2] at steps of d = 1/4 px, and that of the bins, are divided out.
 *
 * @source ISO 12233, e-SFR (text of the 2014 edition): derivative filter, centred Hamming window, correction
 */
function computeTransfer(line: Float64Array, whole: number, frequency: number): number {
  const derivative = sinc((2 * frequency) / edgeOversampling);
  const bins = sinc(frequency / edgeOversampling);
  return transform(line, frequency) / whole / (derivative * bins);
}

const frequencyStep = 0.005;

function findMtf50(line: Float64Array): number {
  const whole = transform(line, 0);
  let before = 1;
  for (let frequency = frequencyStep; frequency <= 1; frequency += frequencyStep) {
    const now = computeTransfer(line, whole, frequency);
    if (now < 0.5) return frequency - frequencyStep * ((0.5 - now) / (before - now));
    before = now;
  }
  return Number.NaN;
}

/**
 * A Hamming window of half-length L acts near its middle as a Gaussian of sigma L / (pi sqrt(0.46)), its second derivative
 * there, and so narrows the line: what it takes is given back as to a Gaussian.
 */
function widenForWindow(mtf50: number, reachPx: number): number {
  const windowSigma = reachPx / (Math.PI * Math.sqrt(0.46));
  // Sigma of the Gaussian whose transfer is a half at this frequency.
  const sigma = Math.sqrt(Math.LN2 / 2) / (Math.PI * mtf50);
  return mtf50 * Math.sqrt(Math.max(0, 1 - (sigma / windowSigma) ** 2));
}

/** Variance that derivative and bins add, in square steps: 1 (two deltas at +-1) + 1/12. */
const addedVariance = (1 + 1 / 12) / edgeOversampling ** 2;
const gaussianFactor2 = 8 * Math.LN2;

/** Half-maximum width over the 90 to 10 % distance of a Gaussian edge, 2.35482 / 2.56310: where to look first. */
const widthOverSpread = 0.91873;
/** Top and flanks are fitted over these shares of the width: wide enough for noise, narrow enough for any smooth line. */
const topShare = 0.3;
const flankShare = 0.2;

/** Peak of a line spread: a parabola through what lies near its centre. */
function fitTop(line: Float64Array, centre: number, reach: number): number {
  let [n, s2, s4, sy, s2y] = [0, 0, 0, 0, 0];
  for (let k = Math.ceil(centre - reach); k <= centre + reach; k++) {
    const d2 = (k - centre) ** 2;
    n++;
    s2 += d2;
    s4 += d2 * d2;
    sy += line[k];
    s2y += d2 * line[k];
  }
  return n < 4 ? line[Math.round(centre)] : (s4 * sy - s2 * s2y) / (n * s4 - s2 * s2);
}

/**
 * Half-maximum width of a line spread, px, by a parabola at its top and straight lines at its flanks; what derivative and bins
 * add is taken off as from a Gaussian.
 */
function measureLineWidth(line: Float64Array, centre: number, spreadBins: number): number {
  const guess = spreadBins * widthOverSpread;
  const half = fitTop(line, centre, topShare * guess) / 2;
  const find = (side: -1 | 1): number => {
    const near = centre + (side * guess) / 2;
    const reach = Math.max(1.5, flankShare * guess);
    const { at0, slope } = fitLine(line, Math.ceil(near - reach), Math.floor(near + reach));
    return (half - at0) / slope;
  };
  const width = (find(1) - find(-1)) / edgeOversampling;
  return Math.sqrt(Math.max(0, width * width - gaussianFactor2 * addedVariance));
}

/** Place of the half-light, px from the middle: a straight line through what lies between 30 and 70 %. */
function findHalf(edge: Float64Array, crossing: number): number {
  let [from, to] = [Math.floor(crossing), Math.ceil(crossing)];
  while (from > 0 && edge[from - 1] < 0.7 && edge[from - 1] > edge[from]) from--;
  while (to < edge.length - 1 && edge[to + 1] > 0.3 && edge[to + 1] < edge[to]) to++;
  const line = fitLine(edge, from, to);
  return (0.5 - line.at0) / line.slope;
}

/**
 * Spread and place of an edge from its super-sampled profile, bright at negative distances, after the slanted-edge method of
 * ISO 12233: derivative, Hamming window about the line spread's centre, transform. Widths are as sampled, with the pixel's own
 * integral in them. Null where the profile has gaps, no contrast, or no single fall.
 */
export function measureEdgeSpread(bins: EdgeBins): EdgeSpread | null {
  const profile = averageBins(bins);
  const edge = profile === null ? null : normalizeEdge(profile);
  if (edge === null) return null;
  const crossing = findFall(edge, 0.5);
  const [high, low] = [findFall(edge, 0.9), findFall(edge, 0.1)];
  if (!Number.isFinite(crossing + high + low)) return null;
  const slope = Float64Array.from(edge, (_, k) =>
    k === 0 || k === edge.length - 1 ? 0 : (edge[k - 1] - edge[k + 1]) / 2,
  );
  // The window reaches equally far on both sides of the centre, as the standard's centred one.
  const reach = Math.min(crossing, edge.length - 1 - crossing);
  const line = slope.map((value, k) => {
    const away = (k - crossing) / reach;
    return Math.abs(away) > 1 ? 0 : value * (0.54 + 0.46 * Math.cos(Math.PI * away));
  });
  const middle = (edge.length - 1) / 2;
  const result: EdgeSpread = {
    positionPx: (findHalf(edge, crossing) - middle) / edgeOversampling,
    spreadPx: (low - high) / edgeOversampling,
    fwhmPx: measureLineWidth(line, crossing, low - high),
    mtf50: widenForWindow(findMtf50(line), reach / edgeOversampling),
  };
  return Object.values(result).every(Number.isFinite) ? result : null;
}
