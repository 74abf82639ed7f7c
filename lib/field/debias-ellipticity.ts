/**
 * Noise makes a round star look elongated. The size R of a spin-2 pair whose true size is `true` and whose two
 * components carry Gaussian noise sigma follows the Rice distribution (Rice 1945, Bell System Technical Journal
 * 24:46). These functions turn an observed R into the true size at which R would be the median of what is observed:
 * each star's size is then as often too high as too low, and so is the median over stars.
 */

/** Median of R over sigma for a true size of zero: the Rayleigh distribution's, sqrt(2 ln 2). */
const medianAtZero = Math.sqrt(2 * Math.LN2);

/**
 * True size over sigma, for a given median of R over sigma, tabulated once by integrating the Rice density.
 * Above the table the median is sqrt(true^2 + sigma^2) to 0.1 %.
 */
const tableStep = 0.05;
const tableEnd = 6;

/** exp(-x) I0(x), by the series of Abramowitz & Stegun 1964, 9.8.1 and 9.8.2 (relative error below 2e-7). */
function scaledBesselI0(x: number): number {
  if (x < 3.75) {
    const t = (x / 3.75) ** 2;
    const series =
      1 +
      t * (3.5156229 + t * (3.0899424 + t * (1.2067492 + t * (0.2659732 + t * (0.0360768 + t * 0.0045813)))));
    return series * Math.exp(-x);
  }
  const t = 3.75 / x;
  const coefficients = [
    0.39894228, 0.01328592, 0.00225319, -0.00157565, 0.00916281, -0.02057706, 0.02635537, -0.01647633,
    0.00392377,
  ];
  return coefficients.reduceRight((sum, coefficient) => sum * t + coefficient, 0) / Math.sqrt(x);
}

/** Median of the Rice distribution with unit sigma, by the trapezium rule up to the half. */
function computeRiceMedian(size: number): number {
  const step = 0.005;
  let sum = 0;
  let before = 0;
  for (let r = step; r < size + 6; r += step) {
    const density = r * Math.exp(-((r - size) ** 2) / 2) * scaledBesselI0(r * size);
    const added = ((before + density) / 2) * step;
    if (sum + added >= 0.5) return r - step + ((0.5 - sum) / added) * step;
    sum += added;
    before = density;
  }
  return size;
}

let medians: Float64Array | null = null;

/** Rice medians for true sizes 0, 0.05 .. 6 in units of sigma. */
function listRiceMedians(): Float64Array {
  medians ??= Float64Array.from({ length: tableEnd / tableStep + 1 }, (_, i) =>
    computeRiceMedian(i * tableStep),
  );
  return medians;
}

/**
 * Median-unbiased size of a spin-2 pair from its observed size and the one-sigma noise of each component, both in the
 * same unit; 0 where the observed size is below what noise alone gives half the time. A noise of NaN (unknown) or 0
 * leaves the size as it is.
 */
export function debiasSize(observed: number, sigma: number): number {
  if (!(sigma > 0)) return observed;
  const ratio = observed / sigma;
  if (ratio <= medianAtZero) return 0;
  const table = listRiceMedians();
  if (ratio >= table[table.length - 1]) return Math.sqrt(Math.max(0, observed * observed - sigma * sigma));
  let low = 0;
  let high = table.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (table[middle] <= ratio) low = middle;
    else high = middle;
  }
  const share = Math.max(0, (ratio - table[low]) / (table[high] - table[low]));
  return (low + share) * tableStep * sigma;
}

/** Ellipticity 1 - b/a of the spin-2 size (a2 - b2)/(a2 + b2). */
export function toEllipticity(size: number): number {
  const bounded = Math.min(Math.max(size, 0), 1);
  return 1 - Math.sqrt((1 - bounded) / (1 + bounded));
}

/** Spin-2 size (a2 - b2)/(a2 + b2) of the ellipticity 1 - b/a. */
export function toSpinSize(ellipticity: number): number {
  const ratio2 = (1 - ellipticity) ** 2;
  return (1 - ratio2) / (1 + ratio2);
}
