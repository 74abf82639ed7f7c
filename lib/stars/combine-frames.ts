import {
  applyTransform,
  type FrameTransform,
  guessTransform,
  listBrightest,
  SAME_PLACE,
} from "./align-frames.ts";
import { averageStars } from "./average-stars.ts";
import { fitTransform, matchPositions } from "./match-positions.ts";
import { listUsableStars, type StarTable, selectStars } from "./star-table.ts";

/** Stars of several frames of one pointing, combined star by star. */
export interface CombinedStars {
  /** Usable stars, brightest first. Positions are the mean of where the star lay on the sensor. */
  stars: StarTable;
  /** In how many frames each star was measured and usable. */
  frameCount: Uint16Array;
  /** The tables that took part, usable rows only, in the order given. */
  frames: StarTable[];
  /** For each frame that took part, the row of its table for each combined star, -1 where it has none. */
  rows: Int32Array[];
  /** From each frame that took part onto the reference. */
  transforms: FrameTransform[];
  /** Places, in the list given, of the frames that took part, and of those that show another field. */
  matched: number[];
  unmatched: number[];
}

/** Wide enough for the distortion a dither of some hundred px brings to light, narrow enough for a crowded field. */
const firstRadiusPx = 6;
const lastRadiusPx = 3;
/** A frame shows the same field when this share of its bright stars, and of the reference's in reach, coincide. */
const shareToAgree = 0.3;

/**
 * Stars are averaged only where the frames put them at nearly the same place on the sensor, for the optics' blur
 * belongs to the place: within a turn of 2 degrees and a shift of 400 px (dithers stay well below). A frame that was
 * turned or moved further adds its stars as stars of their own.
 */
const largestTurnRad = 0.035;
const largestShiftPx = 400;

function isSamePlaceOnSensor(transform: FrameTransform, table: StarTable): boolean {
  if (Math.abs(Math.atan2(transform.b, transform.a)) > largestTurnRad) return false;
  return listBrightest(table, 20).every((row) => {
    const { x, y } = applyTransform(transform, table.xPx[row], table.yPx[row]);
    return Math.hypot(x - table.xPx[row], y - table.yPx[row]) < largestShiftPx;
  });
}

/** The transform of `other` onto `reference`, or null where the two do not show the same field. */
export function alignFrames(reference: StarTable, other: StarTable): FrameTransform | null {
  let transform = guessTransform(reference, other);
  if (transform === null) return null;
  const bright = selectStars(other, listBrightest(other, 400));
  const targets = selectStars(reference, listBrightest(reference, 800));
  for (const radiusPx of [firstRadiusPx, lastRadiusPx, lastRadiusPx]) {
    const fitted = fitTransform(targets, bright, matchPositions(targets, bright, transform, radiusPx));
    if (fitted === null) return null;
    transform = fitted;
  }
  if (Math.abs(Math.hypot(transform.a, transform.b) - 1) > 0.01) return null;
  const probe = selectStars(bright, [...Array(Math.min(100, bright.flags.length)).keys()]);
  const found = matchPositions(targets, probe, transform, lastRadiusPx).filter((match) => match >= 0).length;
  return found >= Math.max(3, shareToAgree * probe.flags.length) ? transform : null;
}

/** The frame with the most stars that can be measured: the others are laid onto it. */
function chooseReference(tables: readonly StarTable[]): number {
  const counts = tables.map((table) => listUsableStars(table).length);
  return counts.indexOf(Math.max(...counts));
}

/**
 * Matches the stars of the frames by place (any shift, any turn) and averages each star over the frames in which it
 * could be used. A frame that shows another field is left out and named in `unmatched`; whether that is a fault is
 * the caller's affair. One frame passes through unchanged but for its unusable rows. Stars that no frame could use
 * are not in the result; the frames' own tables keep them.
 */
export function combineFrames(tables: readonly StarTable[]): CombinedStars {
  const reference = tables.length === 0 ? -1 : chooseReference(tables);
  const aligned = tables.map((table, index) =>
    index === reference ? SAME_PLACE : alignFrames(tables[reference], table),
  );
  const matched = aligned.flatMap((transform, index) => (transform === null ? [] : [index]));
  const unmatched = aligned.flatMap((transform, index) => (transform === null ? [index] : []));
  const frames = matched.map((index) => selectStars(tables[index], listUsableStars(tables[index])));
  const transforms = matched.map((index) => aligned[index] ?? SAME_PLACE);
  const rows = listSharedRows(frames, transforms, matched.indexOf(reference));
  const { stars, frameCount, order } = averageStars(frames, rows);
  return {
    stars,
    frameCount,
    frames,
    rows: rows.map((column) => Int32Array.from(order, (star) => column[star])),
    transforms,
    matched,
    unmatched,
  };
}

/** One list of stars over all frames: those of the reference, then what each further frame adds. */
function listSharedRows(
  frames: readonly StarTable[],
  transforms: readonly FrameTransform[],
  reference: number,
): Int32Array[] {
  const xPx: number[] = [];
  const yPx: number[] = [];
  const rows = frames.map((): number[] => []);
  const order = [reference, ...frames.keys()].filter((frame, place) => place === 0 || frame !== reference);
  for (const frame of frames.length === 0 ? [] : order) {
    const table = frames[frame];
    const targets = isSamePlaceOnSensor(transforms[frame], table) ? { xPx, yPx } : { xPx: [], yPx: [] };
    const matches = matchPositions(targets, table, transforms[frame], lastRadiusPx);
    for (let row = 0; row < matches.length; row++) {
      let star = matches[row];
      if (star < 0) {
        const place = applyTransform(transforms[frame], table.xPx[row], table.yPx[row]);
        star = xPx.push(place.x) - 1;
        yPx.push(place.y);
      }
      rows[frame][star] = row;
    }
  }
  return rows.map((column) => Int32Array.from({ length: xPx.length }, (_, star) => column[star] ?? -1));
}
