/** Why a star is kept out of statistics. A flagged star keeps its row. */
export const STAR_FLAGS = {
  saturated: 1,
  blended: 2,
  border: 4,
  /** Cosmic ray or hot pixel: sharper than the optics and the air can make a star. */
  spike: 8,
  /** One of a pair that tracking drew twice. */
  trailedDouble: 16,
  /** Lies on a satellite's or aeroplane's trail. */
  trail: 32,
  /** The profile does not describe it: a galaxy, a knot of nebulosity, a defect. */
  poorFit: 64,
  /** The fit did not settle; shape columns are NaN. */
  failed: 128,
  /** Narrower than 1.2 px as sampled: width is an upper bound only. */
  unresolved: 256,
  /** Some pixels under it were missing or not finite. */
  partial: 512,
  /** Too faint for a shape that means something (signal to noise below 15); position and light hold. */
  faint: 1024,
} as const;

/**
 * Stars of one channel of one frame, as typed columns of equal length, brightest first.
 * Positions: px, pixel centres at integers from 0 at the upper left, y down. Angles: degrees counter-clockwise from
 * +x as displayed (y up), 0 <= angle < 180; `e1`, `e2` follow the same y-up sense.
 * Widths are those of the light as it falls on the sensor (pixel's integral taken out), of the half-maximum contour.
 */
export interface StarTable {
  xPx: Float64Array;
  yPx: Float64Array;
  fluxAdu: Float64Array;
  /** Signal to noise of the light: flux over its uncertainty with shape known. */
  snr: Float64Array;
  peakAdu: Float64Array;
  /** Background under the star, ADU. */
  backgroundAdu: Float64Array;
  fwhmMajorPx: Float64Array;
  fwhmMinorPx: Float64Array;
  angleDeg: Float64Array;
  e1: Float64Array;
  e2: Float64Array;
  /** Half-flux diameter of the fitted profile, px. */
  hfdPx: Float64Array;
  /** Diameter that holds 80 % of the light of the fitted profile, px. */
  ee80Px: Float64Array;
  /** Geometric mean FWHM with the pixel's integral in it, px. */
  sampledFwhmPx: Float64Array;
  /** One-sigma uncertainties from the fit's covariance. */
  xErrPx: Float64Array;
  yErrPx: Float64Array;
  /** Of ln(fwhm): a fraction. */
  fwhmErr: Float64Array;
  /** Of e1 and of e2, each. */
  eErr: Float64Array;
  /** Of the flux, ADU. */
  fluxErrAdu: Float64Array;
  /** Reduced chi-square of the fit. */
  chi2: Float64Array;
  flags: Uint16Array;
}

/** The numeric columns, in the order in which they are written. */
export const STAR_COLUMNS = [
  "xPx",
  "yPx",
  "fluxAdu",
  "snr",
  "peakAdu",
  "backgroundAdu",
  "fwhmMajorPx",
  "fwhmMinorPx",
  "angleDeg",
  "e1",
  "e2",
  "hfdPx",
  "ee80Px",
  "sampledFwhmPx",
  "xErrPx",
  "yErrPx",
  "fwhmErr",
  "eErr",
  "fluxErrAdu",
  "chi2",
] as const satisfies readonly (keyof StarTable)[];

/** An empty table of `n` rows, columns NaN, no flags. */
export function makeStarTable(n: number): StarTable {
  const columns = Object.fromEntries(
    STAR_COLUMNS.map((name) => [name, new Float64Array(n).fill(Number.NaN)]),
  );
  return { ...(columns as Omit<StarTable, "flags">), flags: new Uint16Array(n) };
}

/** The rows of `table` at `rows`, in that order. */
export function selectStars(table: StarTable, rows: ArrayLike<number>): StarTable {
  const selected = makeStarTable(rows.length);
  for (let i = 0; i < rows.length; i++) {
    for (const name of STAR_COLUMNS) selected[name][i] = table[name][rows[i]];
    selected.flags[i] = table.flags[rows[i]];
  }
  return selected;
}

/** Flags that keep a star out of shape statistics. */
export const UNUSABLE =
  STAR_FLAGS.saturated |
  STAR_FLAGS.blended |
  STAR_FLAGS.border |
  STAR_FLAGS.spike |
  STAR_FLAGS.trailedDouble |
  STAR_FLAGS.trail |
  STAR_FLAGS.poorFit |
  STAR_FLAGS.failed |
  STAR_FLAGS.faint;

/** Rows fit for shape statistics. */
export function listUsableStars(table: StarTable): number[] {
  const rows: number[] = [];
  for (let i = 0; i < table.flags.length; i++) if ((table.flags[i] & UNUSABLE) === 0) rows.push(i);
  return rows;
}
