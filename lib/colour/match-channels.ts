import { applyTransform, type FrameTransform, SAME_PLACE } from "../stars/align-frames.ts";
import { fitTransform, matchPositions } from "../stars/match-positions.ts";
import { listUsableStars, type StarTable, selectStars } from "../stars/star-table.ts";

/** A usable star of one channel and the same star in another. */
export interface MatchedRows {
  /** Rows of the table matched, and of the table it was matched against. */
  of: number[];
  against: number[];
  /** Lays `of` onto `against`. */
  transform: FrameTransform;
}

/** Far enough for two arcseconds of dispersion at a fine scale, near enough for crowded fields. */
const firstRadiusPx = 6;
const lastRadiusPx = 2;
const brightest = 600;

function narrow(of: StarTable, against: StarTable, first: FrameTransform): FrameTransform {
  const bright = selectStars(of, takeBrightest(of));
  let transform = first;
  for (const radiusPx of [firstRadiusPx, lastRadiusPx, lastRadiusPx]) {
    const fitted = fitTransform(against, bright, matchPositions(against, bright, transform, radiusPx));
    if (fitted === null) return transform;
    transform = fitted;
  }
  return transform;
}

function takeBrightest(table: StarTable): number[] {
  return Array.from(table.flags.keys())
    .sort((a, b) => table.fluxAdu[b] - table.fluxAdu[a])
    .slice(0, brightest);
}

/**
 * Pairs the usable stars of two channels, nearest to nearest within two px once shift, turn and scale between the channels
 * are taken off. `start` lays `of` onto `against`; left out for planes of one frame, which lie on each other but for colour.
 */
export function matchChannels(of: StarTable, against: StarTable, start = SAME_PLACE): MatchedRows {
  const [ofRows, againstRows] = [listUsableStars(of), listUsableStars(against)];
  const [ofStars, againstStars] = [selectStars(of, ofRows), selectStars(against, againstRows)];
  const transform = narrow(ofStars, againstStars, start);
  const matches = matchPositions(againstStars, ofStars, transform, lastRadiusPx);
  const matched: MatchedRows = { of: [], against: [], transform };
  matches.forEach((target, row) => {
    if (target < 0) return;
    matched.of.push(ofRows[row]);
    matched.against.push(againstRows[target]);
  });
  return matched;
}

/** Row of `of` for each row of `against`, -1 where it has none. */
export function indexMatches(matched: MatchedRows, against: StarTable): Int32Array {
  const rows = new Int32Array(against.flags.length).fill(-1);
  matched.against.forEach((row, k) => {
    rows[row] = matched.of[k];
  });
  return rows;
}

/** Largest turn between frames of two filters whose places on the sensor still belong together, radians (2 degrees). */
const largestTurnRad = 0.035;
/** Largest shift, as a share of the frame's width: a dither, not another pointing. */
const largestShiftShare = 0.1;

/** Whether a transform is a dither: so small that a star sees the same part of the optics in both frames. */
export function isDither(transform: FrameTransform, widthPx: number, heightPx: number): boolean {
  if (Math.abs(Math.atan2(transform.b, transform.a)) > largestTurnRad) return false;
  const middle = { x: widthPx / 2, y: heightPx / 2 };
  const moved = applyTransform(transform, middle.x, middle.y);
  return Math.hypot(moved.x - middle.x, moved.y - middle.y) < largestShiftShare * widthPx;
}
