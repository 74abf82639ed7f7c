import type { SamplePlane } from "./samples.ts";

/** FWHM of a Gaussian in units of its sigma: sqrt(8 ln 2). */
export const FWHM_PER_SIGMA = 2.354820045030949;

/** One side of a Gaussian kernel, centre first, the whole kernel summing to 1. */
export interface GaussianKernel {
  half: Float64Array;
  radius: number;
}

/** Gaussian of the given FWHM in steps of the grid, cut at 1.2 FWHM (2.8 sigma), which costs under 0.1 % of signal to noise. */
export function makeGaussianKernel(fwhm: number): GaussianKernel {
  const sigma = fwhm / FWHM_PER_SIGMA;
  const radius = Math.max(2, Math.round(1.2 * fwhm));
  const half = new Float64Array(radius + 1);
  let sum = 0;
  for (let i = 0; i <= radius; i++) {
    half[i] = Math.exp(-0.5 * (i / sigma) ** 2);
    sum += i === 0 ? half[i] : 2 * half[i];
  }
  return { half: half.map((value) => value / sum), radius };
}

/**
 * The grid on which the filter works: the frame's own pixels for narrow stars; blocks of `binPx` x `binPx` pixels where
 * the star is so wide that this loses nothing, so that a wide kernel costs no more than a narrow one.
 */
export interface FilterGrid {
  binPx: number;
  columns: number;
  rows: number;
  /** Which sites of the grid's 2 x 2 block hold values. */
  sites: SamplePlane["sites"];
  kernel: GaussianKernel;
}

/** Blocks keep at least 2 grid steps in a FWHM: what is lost of the signal to noise of a star is then under 6 %. */
export function planFilterGrid(plane: SamplePlane, fwhmPx: number): FilterGrid {
  const allSites = plane.sites.every(Boolean);
  let binPx = Math.max(1, Math.floor(fwhmPx / 2));
  // A block of even side holds the same number of sites of a colour everywhere; of odd side it would not.
  if (!allSites && binPx > 1) binPx -= binPx & 1;
  const sites: SamplePlane["sites"] = binPx > 1 ? [true, true, true, true] : plane.sites;
  return {
    binPx,
    columns: Math.floor(plane.widthPx / binPx),
    rows: Math.floor(plane.heightPx / binPx),
    sites,
    kernel: makeGaussianKernel(fwhmPx / binPx),
  };
}

/** Writes grid row `row` of the plane to out[radius...]: 0 at sites of other colours, NaN where a value is missing. */
export function loadGridRow(plane: SamplePlane, grid: FilterGrid, row: number, out: Float32Array): void {
  const { samples, widthPx } = plane;
  const { binPx, columns, kernel, sites } = grid;
  if (row < 0 || row >= grid.rows) {
    out.fill(0);
    return;
  }
  if (binPx > 1) {
    loadBlocks(plane, grid, row, out);
    return;
  }
  const even = sites[2 * (row & 1)];
  const odd = sites[1 + 2 * (row & 1)];
  const from = row * widthPx;
  if (even && odd) {
    if (samples instanceof Uint16Array) copyWhole(samples, from, columns, out, kernel.radius);
    else copyFloat(samples, from, columns, out, kernel.radius);
    return;
  }
  out.fill(0);
  if (!even && !odd) return;
  for (let x = even ? 0 : 1; x < columns; x += 2) {
    const value = samples[from + x];
    out[kernel.radius + x] = value - value === 0 ? value : Number.NaN;
  }
}

function copyWhole(samples: Uint16Array, from: number, n: number, out: Float32Array, at: number): void {
  for (let x = 0; x < n; x++) out[at + x] = samples[from + x];
}

function copyFloat(samples: Float32Array, from: number, n: number, out: Float32Array, at: number): void {
  for (let x = 0; x < n; x++) out[at + x] = samples[from + x];
}

/** Mean of the sites of each block. */
function loadBlocks(plane: SamplePlane, grid: FilterGrid, row: number, out: Float32Array): void {
  const { samples, widthPx, sites } = plane;
  const { binPx, columns, kernel } = grid;
  out.fill(0);
  let sitesInBlock = 0;
  for (let dy = 0; dy < binPx; dy++) {
    const y = row * binPx + dy;
    for (let dx = 0; dx < binPx; dx++) {
      // Every block starts on an even pixel where sites matter, so `dx` tells the parity.
      if (!sites[(dx & 1) + 2 * (dy & 1)]) continue;
      sitesInBlock++;
      const from = y * widthPx + dx;
      if (samples instanceof Uint16Array) addWhole(samples, from, binPx, columns, out, kernel.radius);
      else addFloat(samples, from, binPx, columns, out, kernel.radius);
    }
  }
  const scale = 1 / sitesInBlock;
  for (let x = kernel.radius; x < kernel.radius + columns; x++) out[x] *= scale;
}

function addWhole(
  samples: Uint16Array,
  from: number,
  step: number,
  n: number,
  out: Float32Array,
  at: number,
): void {
  for (let x = 0, i = from; x < n; x++, i += step) out[at + x] += samples[i];
}

function addFloat(
  samples: Float32Array,
  from: number,
  step: number,
  n: number,
  out: Float32Array,
  at: number,
): void {
  for (let x = 0, i = from; x < n; x++, i += step) out[at + x] += samples[i];
}

/** Weighted sum of 2 radius + 1 rows, columns 0...n. Four pairs of rows at a time: that many fit a core's registers. */
export function sumRows(
  rows: readonly Float32Array[],
  half: Float64Array,
  n: number,
  out: Float32Array,
): void {
  const radius = half.length - 1;
  const r = (k: number) => rows[Math.min(Math.max(k, 0), 2 * radius)];
  const w = (k: number) => (k <= radius ? half[k] : 0);
  const c = radius;
  if (radius <= 3) {
    sumFirstThree(
      r(c - 3),
      r(c - 2),
      r(c - 1),
      r(c),
      r(c + 1),
      r(c + 2),
      r(c + 3),
      w(0),
      w(1),
      w(2),
      w(3),
      n,
      out,
    );
    return;
  }
  sumFirstFour(
    [r(c - 4), r(c - 3), r(c - 2), r(c - 1), r(c), r(c + 1), r(c + 2), r(c + 3), r(c + 4)],
    [w(0), w(1), w(2), w(3), w(4)],
    n,
    out,
  );
  for (let k = 5; k <= radius; k += 2) {
    addTwoPairs(r(c - k - 1), r(c - k), r(c + k), r(c + k + 1), w(k), w(k + 1), n, out);
  }
}

function sumFirstThree(
  a: Float32Array,
  b: Float32Array,
  c: Float32Array,
  d: Float32Array,
  e: Float32Array,
  f: Float32Array,
  g: Float32Array,
  k0: number,
  k1: number,
  k2: number,
  k3: number,
  n: number,
  out: Float32Array,
): void {
  for (let x = 0; x < n; x++) {
    out[x] = k0 * d[x] + k1 * (c[x] + e[x]) + k2 * (b[x] + f[x]) + k3 * (a[x] + g[x]);
  }
}

function sumFirstFour(
  [a, b, c, d, e, f, g, h, i]: readonly Float32Array[],
  [k0, k1, k2, k3, k4]: readonly number[],
  n: number,
  out: Float32Array,
): void {
  for (let x = 0; x < n; x++) {
    out[x] = k0 * e[x] + k1 * (d[x] + f[x]) + k2 * (c[x] + g[x]) + k3 * (b[x] + h[x]) + k4 * (a[x] + i[x]);
  }
}

function addTwoPairs(
  a: Float32Array,
  b: Float32Array,
  c: Float32Array,
  d: Float32Array,
  k1: number,
  k2: number,
  n: number,
  out: Float32Array,
): void {
  for (let x = 0; x < n; x++) out[x] += k1 * (b[x] + c[x]) + k2 * (a[x] + d[x]);
}

/** Weighted sum of 2 radius + 1 neighbours along a row that begins `radius` columns before the first result. */
export function sumColumns(row: Float32Array, half: Float64Array, n: number, out: Float32Array): void {
  const radius = half.length - 1;
  if (radius <= 4) {
    const [k0, k1, k2] = half;
    const k3 = radius >= 3 ? half[3] : 0;
    const k4 = radius >= 4 ? half[4] : 0;
    // Positions before and after what a narrow kernel needs are read with weight 0; they must exist and be finite.
    if (radius === 4) {
      let [a0, a1, a2, a3, a4, a5, a6, a7] = row;
      for (let x = 0; x < n; x++) {
        const a8 = row[x + 8];
        out[x] = k0 * a4 + k1 * (a3 + a5) + k2 * (a2 + a6) + k3 * (a1 + a7) + k4 * (a0 + a8);
        a0 = a1;
        a1 = a2;
        a2 = a3;
        a3 = a4;
        a4 = a5;
        a5 = a6;
        a6 = a7;
        a7 = a8;
      }
    } else if (radius === 3) {
      for (let x = 0; x < n; x++) {
        out[x] =
          k0 * row[x + 3] +
          k1 * (row[x + 2] + row[x + 4]) +
          k2 * (row[x + 1] + row[x + 5]) +
          k3 * (row[x] + row[x + 6]);
      }
    } else {
      for (let x = 0; x < n; x++) {
        out[x] = k0 * row[x + 2] + k1 * (row[x + 1] + row[x + 3]) + k2 * (row[x] + row[x + 4]);
      }
    }
    return;
  }
  for (let x = 0; x < n; x++) {
    let sum = half[0] * row[x + radius];
    for (let k = 1; k <= radius; k++) sum += half[k] * (row[x + radius - k] + row[x + radius + k]);
    out[x] = sum;
  }
}
