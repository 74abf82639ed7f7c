import { makeCellIndex } from "./cell-index.ts";
import type { PlacedStars } from "./flag-doubles.ts";
import { STAR_FLAGS } from "./star-table.ts";

/** Wings reckoned with: a Moffat profile of exponent 3, wider than most nights' (Trujillo et al. 2001: 4.765 in theory). */
const BETA = 3;
/** Light of the neighbour on the star's half-maximum contour, in units of the star's peak, from which it is a blend. */
const LEAST_SHARE = 0.02;
/** Stars farther apart than this never blend unless the neighbour is more than 10,000 times brighter. */
const FARTHEST_FWHM = 8;

/** Light at radius r (in FWHM) of a profile of unit peak. */
export function fadeWing(radiusFwhm: number): number {
  const alpha = 1 / (2 * Math.sqrt(2 ** (1 / BETA) - 1));
  return (1 + (radiusFwhm / alpha) ** 2) ** -BETA;
}

/**
 * Sets STAR_FLAGS.blended on stars whose half-maximum contour a neighbour lights by more than 2 % of their own peak: at a
 * distance d, with flux ratio q = neighbour / star, when q W(d - FWHM / 2) > 0.02, W the profile's wing. Equal stars blend
 * within 2.1 FWHM, a neighbour ten times fainter within 1.3, ten times brighter within 3.1, a hundred times within 4.4.
 */
export function flagBlends(stars: PlacedStars, fwhmPx: number): void {
  const index = makeCellIndex(stars.xPx, stars.yPx, Math.max(8, 2 * fwhmPx));
  const skip = STAR_FLAGS.spike;
  for (let i = 0; i < stars.xPx.length; i++) {
    if (!(stars.fluxAdu[i] > 0)) continue;
    index.visit(stars.xPx[i], stars.yPx[i], FARTHEST_FWHM * fwhmPx, (j) => {
      if (j === i || (stars.flags[j] & skip) !== 0) return;
      const distance = Math.hypot(stars.xPx[j] - stars.xPx[i], stars.yPx[j] - stars.yPx[i]) / fwhmPx;
      const share = (stars.fluxAdu[j] / stars.fluxAdu[i]) * fadeWing(Math.max(0, distance - 0.5));
      if (share > LEAST_SHARE) stars.flags[i] |= STAR_FLAGS.blended;
    });
  }
}
