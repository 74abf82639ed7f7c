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
