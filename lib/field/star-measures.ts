import type { StarTable } from "../stars/star-table.ts";
import { debiasSize, toEllipticity } from "./debias-ellipticity.ts";
import { type CentreEstimate, estimateCentre } from "./estimate-centre.ts";
import type { PlacedStars, StarPlaces } from "./place-stars.ts";

/** One number a star has; NaN where it has none. */
export type StarMeasure = (stars: StarTable, row: number, places: StarPlaces) => number;

/** Noise of a frame's fit that is not in its covariance, as a spin-2 component: none known where the table is silent. */
function readShapeNoise(stars: StarTable, row: number): number {
  return Number.isFinite(stars.eErr[row]) ? stars.eErr[row] : 0;
}

export const STAR_MEASURES = {
  fwhm: (stars, row) => Math.sqrt(stars.fwhmMajorPx[row] * stars.fwhmMinorPx[row]),
  fwhmMajor: (stars, row) => stars.fwhmMajorPx[row],
  fwhmMinor: (stars, row) => stars.fwhmMinorPx[row],
  hfd: (stars, row) => stars.hfdPx[row],
  sampledFwhm: (stars, row) => stars.sampledFwhmPx[row],
  ellipticity: (stars, row) =>
    toEllipticity(debiasSize(Math.hypot(stars.e1[row], stars.e2[row]), readShapeNoise(stars, row))),
  radial: (_stars, row, places) => places.radial[row],
  e1: (stars, row) => stars.e1[row],
  e2: (stars, row) => stars.e2[row],
} as const satisfies Record<string, StarMeasure>;

/**
 * Median of a measure over the combined stars in `rows` with both parts of its uncertainty; null below six stars.
 * Each frame's own values of the same stars tell what differs from frame to frame.
 */
export function estimateMeasure(
  placed: PlacedStars,
  rows: readonly number[],
  measure: StarMeasure,
): CentreEstimate | null {
  const { combined, places, framePlaces } = placed;
  const values = Float64Array.from(rows, (row) => measure(combined.stars, row, places));
  const several = combined.frames.length > 1;
  const perFrame = several
    ? combined.frames.map((frame, f) =>
        Float64Array.from(rows, (row) => {
          const own = combined.rows[f][row];
          return own < 0 ? Number.NaN : measure(frame, own, framePlaces[f]);
        }),
      )
    : [];
  return estimateCentre(values, perFrame);
}
