/** Which of the four cells of the repeating 2 x 2 block belong to a channel; index (x & 1) + 2 * (y & 1), row 0 at the top. */
export type SitePattern = readonly [boolean, boolean, boolean, boolean];

export const EVERY_SITE: SitePattern = [true, true, true, true];

/**
 * One channel of a frame. The planes of a colour-filter frame share one `samples` array and differ in their `sites`;
 * nothing is interpolated.
 */
export interface Plane {
  /** "L" for a frame without colour, else "R", "G" or "B". */
  channel: string;
  /** Row-major, row 0 at the top as displayed, ADU. NaN (float only): no value there. On a SharedArrayBuffer. */
  samples: Uint16Array | Float32Array;
  sites: SitePattern;
  /** Above 1 where neighbouring samples share noise (a resampled frame); see `SamplePlane` of the star measures. */
  noiseFactor?: number;
}

/** What a file's header says; null where it is silent. Used where the record is silent. */
export interface HeaderFacts {
  exposureS: number | null;
  pixelPitchUm: number | null;
  binning: number | null;
  focalLengthMm: number | null;
  filter: string | null;
  dateObs: string | null;
  /** As displayed from the upper left, converted from the header's own row order. */
  cfa: "RGGB" | "BGGR" | "GRBG" | "GBRG" | null;
  /** From a world coordinate system: mean scale of a pixel, arcsec. */
  wcsScaleArcsecPerPx: number | null;
  /** Degrees counter-clockwise from displayed up to north; null without a WCS. */
  wcsRotationDeg: number | null;
  gainElectronsPerAdu: number | null;
  readNoiseElectrons: number | null;
  saturationAdu: number | null;
  focuserPosition: number | null;
  altitudeDeg: number | null;
  /** "light", "flat", "bias" or "dark" where the header tells what kind of exposure this is. */
  kind: "light" | "flat" | "bias" | "dark" | null;
  /** Every keyword with its value as text, for `header:KEYWORD` in a record. */
  keywords: Record<string, string>;
}

export interface Frame {
  /** As the caller named it. */
  file: string;
  format: "fits" | "tiff" | "png" | "jpeg";
  sha256: string;
  widthPx: number;
  heightPx: number;
  planes: Plane[];
  header: HeaderFacts;
  /** Highest value the samples can take (65535 for 16 bit), null for float. */
  fullScaleAdu: number | null;
  /** Sentences for the page: processed 8-bit file, pattern disagreement and the like. */
  warnings: string[];
}
