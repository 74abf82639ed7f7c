import { STAR_FLAGS, type StarTable } from "../stars/star-table.ts";

/**
 * The stars of one frame as matching needs them, brightest first. Positions are px with x to the right and y up, so that
 * turns are those of the displayed frame.
 */
export interface SkyList {
  x: Float64Array;
  y: Float64Array;
  /** Uncertainty of a position, px, along each axis. */
  error: Float64Array;
  widthPx: number;
  heightPx: number;
}

/** Objects that are not on the sky, or whose place means nothing. */
const notOnSky =
  STAR_FLAGS.spike |
  STAR_FLAGS.trail |
  STAR_FLAGS.trailedDouble |
  STAR_FLAGS.border |
  STAR_FLAGS.partial |
  STAR_FLAGS.failed;

/** Places of saturated and blended stars are pulled by what is missing or added, px (chosen: half a pixel). */
const pulledPx = 0.5;
const pulled = STAR_FLAGS.saturated | STAR_FLAGS.blended;

/**
 * Stars of a table that have a place on the sky, brightest first. Saturated stars stay: they are in both frames, though
 * their light ranks them only roughly. `yPx` counts downwards in the table, upwards here.
 */
export function makeSkyList(table: StarTable, widthPx: number, heightPx: number): SkyList {
  const rows: number[] = [];
  for (let row = 0; row < table.flags.length; row++) {
    if ((table.flags[row] & notOnSky) !== 0) continue;
    if (Number.isFinite(table.xPx[row] + table.yPx[row] + table.fluxAdu[row])) rows.push(row);
  }
  rows.sort((left, right) => table.fluxAdu[right] - table.fluxAdu[left]);
  const error = rows.map((row) => {
    const own = Math.hypot(table.xErrPx[row], table.yErrPx[row]) / Math.SQRT2;
    const extra = (table.flags[row] & pulled) === 0 ? 0 : pulledPx;
    return Math.hypot(Number.isFinite(own) ? own : pulledPx, extra);
  });
  return {
    x: Float64Array.from(rows, (row) => table.xPx[row]),
    y: Float64Array.from(rows, (row) => -table.yPx[row]),
    error: Float64Array.from(error),
    widthPx,
    heightPx,
  };
}

/** The first `count` stars of a list. */
export function takeBrightest(list: SkyList, count: number): SkyList {
  return {
    ...list,
    x: list.x.subarray(0, count),
    y: list.y.subarray(0, count),
    error: list.error.subarray(0, count),
  };
}

/** The list seen in a mirror with a vertical axis through x = 0: x turns its sign. */
export function mirrorList(list: SkyList): SkyList {
  return { ...list, x: list.x.map((x) => -x) };
}
