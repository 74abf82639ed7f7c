/**
 * The words that `starTable.columns` may give headings to, each with the units it may be in (the first is taken where
 * `starTable.units` is silent; none: a plain number).
 */
export const STAR_TABLE_COLUMNS: Readonly<Record<string, readonly string[]>> = {
  x: ["px", "um", "mm"],
  y: ["px", "um", "mm"],
  fwhm: ["px", "um", "arcsec"],
  fwhmMajor: ["px", "um", "arcsec"],
  fwhmMinor: ["px", "um", "arcsec"],
  hfd: ["px", "um", "arcsec"],
  angle: ["deg", "rad"],
  ellipticity: [],
  e1: [],
  e2: [],
  flux: ["ADU", "e-"],
  peak: ["ADU", "e-"],
  background: ["ADU", "e-"],
  snr: [],
};

/** The words as a list for a sentence. */
export function describeColumns(): string {
  return Object.keys(STAR_TABLE_COLUMNS).join(", ");
}
