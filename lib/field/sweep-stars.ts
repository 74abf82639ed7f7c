import { listUsableStars, STAR_FLAGS, type StarTable } from "../stars/star-table.ts";
import { locateOnSensor, type SensorGeometry } from "./geometry.ts";

/** The stars of one frame of a sweep, as equal columns: where they lie and what shape they have. */
export interface SweepStars {
  xMm: Float64Array;
  yMm: Float64Array;
  /** ln of the width in um, sqrt(major minor). */
  logWidth: Float64Array;
  e1: Float64Array;
  e2: Float64Array;
  /** One-sigma uncertainties of `logWidth` and of e1, e2 each, a floor for what no model follows included. */
  logError: Float64Array;
  eError: Float64Array;
}

/** No model of a star's width is better than this fraction; it keeps a few bright stars from ruling the fit (chosen). */
const modelFloor = 0.015;
/** Where a table made elsewhere gives no uncertainty. */
const unknownError = 0.04;

/**
 * Usable stars of a frame, at most `most`: of a crowded frame every n-th in order of light, so that bright and faint
 * ones, and with them all parts of the field, stay in proportion. Unresolved stars are left out: their width is a
 * bound, not a measure.
 */
export function listSweepStars(table: StarTable, geometry: SensorGeometry, most: number): SweepStars {
  const rows = listUsableStars(table).filter(
    (row) =>
      (table.flags[row] & STAR_FLAGS.unresolved) === 0 &&
      table.fwhmMajorPx[row] > 0 &&
      table.fwhmMinorPx[row] > 0 &&
      Number.isFinite(table.xPx[row] + table.yPx[row] + table.e1[row] + table.e2[row]),
  );
  const share = Math.max(1, rows.length / most);
  const kept =
    rows.length <= most ? rows : Array.from({ length: most }, (_, k) => rows[Math.floor(k * share)]);
  const column = (read: (row: number) => number) => Float64Array.from(kept, read);
  const places = kept.map((row) => locateOnSensor(geometry, table.xPx[row], table.yPx[row]));
  const withFloor = (error: number) => Math.hypot(error > 0 ? error : unknownError, modelFloor);
  return {
    xMm: Float64Array.from(places, ({ x }) => x),
    yMm: Float64Array.from(places, ({ y }) => y),
    logWidth: column((row) =>
      Math.log(Math.sqrt(table.fwhmMajorPx[row] * table.fwhmMinorPx[row]) * geometry.umPerPx),
    ),
    e1: column((row) => table.e1[row]),
    e2: column((row) => table.e2[row]),
    logError: column((row) => withFloor(table.fwhmErr[row])),
    eError: column((row) => withFloor(table.eErr[row])),
  };
}

/** Squares of the half-maximum ellipse's widths along and across a direction, um, as a tensor's elements would turn. */
export function splitWidths(
  stars: SweepStars,
  row: number,
  directionRad: number,
): { along: number; across: number } {
  const e = Math.hypot(stars.e1[row], stars.e2[row]);
  // sqrt(a b) = w and (a2 - b2) / (a2 + b2) = e give (a2 + b2) / 2 = w2 / sqrt(1 - e2).
  const mean = Math.exp(2 * stars.logWidth[row]) / Math.sqrt(Math.max(1e-6, 1 - e * e));
  const radial = stars.e1[row] * Math.cos(2 * directionRad) + stars.e2[row] * Math.sin(2 * directionRad);
  return {
    along: Math.sqrt(Math.max(0, mean * (1 + radial))),
    across: Math.sqrt(Math.max(0, mean * (1 - radial))),
  };
}
