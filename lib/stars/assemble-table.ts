import type { EllipticityCorrection } from "./correct-ellipticity.ts";
import { FITTED } from "./fit-stars.ts";
import { makeProfileReader, type ProfileField } from "./profile-field.ts";
import { makeSampledWidth } from "./sampled-width.ts";
import { makeStarTable, STAR_FLAGS, type StarTable, selectStars } from "./star-table.ts";

/** Below this a shape says little: at 15 a width is known to about 10 %. */
const faintSnr = 15;

/** A star that moved further than this from where it was detected has been caught by a neighbour, in its own widths. */
const mostDrift = 1;

/** Residual over the star's light from which on the profile does not describe it; plain stars stay below 0.1. */
const poorMisfit = 0.15;

/** A correction may not make a needle of a streak. */
const mostEllipticity = 0.99;

/** Narrower than this as sampled, px: the pixels no longer tell the width. */
const unresolvedPx = 1.2;

/**
 * The star table of a frame's channel from its fitted rows (see FITTED), brightest first. `detected` holds where each
 * row was found and the flags it already has. Rows whose fit failed keep position and flags; their shape is NaN.
 */
export function assembleTable(
  fitted: Float64Array,
  detected: {
    xPx: ArrayLike<number>;
    yPx: ArrayLike<number>;
    peakAdu: ArrayLike<number>;
    flags: ArrayLike<number>;
  },
  backgroundAt: (x: number, y: number) => number,
  field: ProfileField,
  correct: EllipticityCorrection,
): StarTable {
  const count = fitted.length / FITTED.length;
  const table = makeStarTable(count);
  const readProfile = makeProfileReader(field);
  const sampledWidth = makeSampledWidth(readProfile(field.widthPx / 2, field.heightPx / 2));
  for (let i = 0; i < count; i++) {
    const row = fitted.subarray(i * FITTED.length, (i + 1) * FITTED.length);
    const [x, y, peak, qxx, qxy, qyy, background] = row;
    const determinant = qxx * qyy - qxy * qxy;
    const fwhm = 2 * determinant ** -0.25;
    const drift = Math.hypot(x - detected.xPx[i], y - detected.yPx[i]);
    table.flags[i] = detected.flags[i];
    if (row[FITTED.converged] !== 1 || !(fwhm > 0) || drift > Math.max(mostDrift * fwhm, 1.5)) {
      table.flags[i] |= STAR_FLAGS.failed;
      table.xPx[i] = detected.xPx[i];
      table.yPx[i] = detected.yPx[i];
      table.peakAdu[i] = detected.peakAdu[i];
      table.backgroundAdu[i] = backgroundAt(detected.xPx[i], detected.yPx[i]);
      table.snr[i] = 0;
      table.fluxAdu[i] = 0;
      continue;
    }
    const profile = readProfile(x, y);
    // In half-width tensor terms (its inverse is q): e1 = (Cxx - Cyy) / (Cxx + Cyy), to which the contour's share is
    // added; the area stays. The frame's y runs down, the table's angles are as displayed with y up, which turns the
    // sign of the cross term.
    const missing = correct(x, y);
    const e1 = (qyy - qxx) / (qxx + qyy) + missing.e1;
    const e2 = (2 * qxy) / (qxx + qyy) - missing.e2;
    const size = Math.min(Math.hypot(e1, e2), mostEllipticity);
    const stretch = ((1 + size) / (1 - size)) ** 0.25;
    table.e1[i] = e1;
    table.e2[i] = e2;
    table.xPx[i] = x;
    table.yPx[i] = y;
    table.fluxAdu[i] = row[FITTED.flux];
    table.snr[i] = row[FITTED.snr];
    table.peakAdu[i] = detected.peakAdu[i];
    table.backgroundAdu[i] = backgroundAt(x, y) + background;
    table.fwhmMajorPx[i] = fwhm * stretch;
    table.fwhmMinorPx[i] = fwhm / stretch;
    table.angleDeg[i] = ((Math.atan2(table.e2[i], table.e1[i]) * 90) / Math.PI + 180) % 180;
    table.hfdPx[i] = fwhm * profile.hfdOverFwhm;
    table.ee80Px[i] = fwhm * profile.ee80OverFwhm;
    table.sampledFwhmPx[i] = sampledWidth(fwhm);
    table.xErrPx[i] = row[FITTED.xErr];
    table.yErrPx[i] = row[FITTED.yErr];
    table.fwhmErr[i] = row[FITTED.fwhmErr];
    table.eErr[i] = row[FITTED.eErr];
    table.fluxErrAdu[i] = row[FITTED.fluxErr];
    table.chi2[i] = row[FITTED.chi2];
    if (peak > 0 && row[FITTED.saturated] > 0) table.flags[i] |= STAR_FLAGS.saturated;
    if (row[FITTED.missing] > row[FITTED.saturated]) table.flags[i] |= STAR_FLAGS.partial;
    if (row[FITTED.snr] < faintSnr) table.flags[i] |= STAR_FLAGS.faint;
    if (table.sampledFwhmPx[i] < unresolvedPx) table.flags[i] |= STAR_FLAGS.unresolved;
    if (measureMisfit(row) > poorMisfit) table.flags[i] |= STAR_FLAGS.poorFit;
  }
  const order = Array.from({ length: count }, (_, i) => i).sort(
    (a, b) => table.fluxAdu[b] - table.fluxAdu[a] || a - b,
  );
  return selectStars(table, order);
}

/** Root of the summed squared residuals beyond noise, over the star's light, both in units of the noise. */
function measureMisfit(row: Float64Array): number {
  const freedom = Math.max(row[FITTED.pixels] - 7, 1);
  // Three sigmas of chi-square's own scatter are forgiven: faint stars are not to fail by chance.
  const excess = row[FITTED.chi2] - 1 - 3 * Math.sqrt(2 / freedom);
  return Math.sqrt(Math.max(excess, 0) * freedom) / row[FITTED.snr];
}
