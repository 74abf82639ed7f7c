import { FWHM_PER_SIGMA } from "./matched-filter.ts";

/** Maxima that pure noise may raise above the threshold in a whole frame, on average. */
const EXPECTED_FALSE = 0.2;

/**
 * Threshold u, in units of the filtered noise, that white normal noise under a Gaussian filter of the given FWHM crosses
 * in `EXPECTED_FALSE` maxima over `areaPx`. Density of maxima above a high u in a smooth two-dimensional normal field:
 *
 *   n(u) = u exp(-u^2 / 2) / ((2 pi)^(3/2) 2 s^2),   s = FWHM / 2.355
 *
 * (Adler 1981, The Geometry of Random Fields, section 6.9; Bond & Efstathiou 1987 MNRAS 226:655), since a filter of
 * width s leaves a correlation exp(-r^2 / 4 s^2). A pixel grid samples the field and so finds a little less. Never below 5.
 */
export function chooseThreshold(fwhmPx: number, areaPx: number): number {
  const s = Math.max(fwhmPx, 1.2) / FWHM_PER_SIGMA;
  const scale = areaPx / ((2 * Math.PI) ** 1.5 * 2 * s * s * EXPECTED_FALSE);
  let u = 5;
  for (let i = 0; i < 50; i++) u = Math.sqrt(Math.max(1, 2 * Math.log(scale * u)));
  return Math.max(5, u);
}
