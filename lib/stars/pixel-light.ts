import { computeNormalTail } from "../maths/distributions.ts";
import { FWHM_PER_SIGMA } from "./matched-filter.ts";

/** Share of a one-dimensional Gaussian's light that falls on a pixel `offset` from its centre. */
export function sharePixel(offset: number, sigma: number): number {
  return computeNormalTail((offset - 0.5) / sigma) - computeNormalTail((offset + 0.5) / sigma);
}

/**
 * Sigma of the light itself for a Gaussian whose FWHM with the pixel's integral in it is `fwhmPx`: the pixel adds 1/12 px2
 * of variance. At least 0.3 px, below which a pixel frame cannot tell widths apart.
 */
export function findLightSigma(fwhmPx: number): number {
  return Math.sqrt(Math.max(0.09, (fwhmPx / FWHM_PER_SIGMA) ** 2 - 1 / 12));
}
