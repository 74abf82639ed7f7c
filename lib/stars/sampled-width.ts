import type { Profile } from "./profile.ts";
import { chooseNodes, makeRoundStar, readPixelLight } from "./star-model.ts";

const leastFwhmPx = 0.3;
const mostFwhmPx = 12;
const steps = 40;

/**
 * Makes the function from a star's own FWHM (px) to its FWHM as the pixels show it: half-maximum width of the profile
 * averaged over a pixel, along a row. Read from a table between 0.3 and 12 px; beyond it the pixel adds 1/12 px^2 of
 * variance to a width where that is below 0.5 %.
 */
export function makeSampledWidth(profile: Profile): (fwhmPx: number) => number {
  const ratio = (mostFwhmPx / leastFwhmPx) ** (1 / (steps - 1));
  const table = Float64Array.from({ length: steps }, (_, i) => {
    const fwhm = leastFwhmPx * ratio ** i;
    return measureSampledWidth(profile, fwhm) / fwhm;
  });
  return (fwhmPx) => {
    if (!(fwhmPx > 0)) return Number.NaN;
    if (fwhmPx >= mostFwhmPx) return Math.hypot(fwhmPx, Math.sqrt((8 * Math.LN2) / 12));
    const position = Math.max(0, Math.log(fwhmPx / leastFwhmPx) / Math.log(ratio));
    const index = Math.min(steps - 2, Math.floor(position));
    return fwhmPx * (table[index] + (position - index) * (table[index + 1] - table[index]));
  };
}

function measureSampledWidth(profile: Profile, fwhmPx: number): number {
  const star = makeRoundStar(0, 0, 1, fwhmPx);
  const nodes = chooseNodes(star).core;
  const half = readPixelLight(star, profile, nodes, 0, 0) / 2;
  let inside = 0;
  let outside = 2 * fwhmPx + 1;
  for (let i = 0; i < 40; i++) {
    const middle = (inside + outside) / 2;
    if (readPixelLight(star, profile, nodes, middle, 0) > half) inside = middle;
    else outside = middle;
  }
  return inside + outside;
}
