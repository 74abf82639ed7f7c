import { STAR_FLAGS, type StarTable } from "./star-table.ts";

/** Turns and shifts a frame's pixel positions (complex x + i y) onto the reference's: z' = (a + i b) z + (tx + i ty). */
export interface FrameTransform {
  a: number;
  b: number;
  tx: number;
  ty: number;
}

export const SAME_PLACE: FrameTransform = { a: 1, b: 0, tx: 0, ty: 0 };

export function applyTransform(
  transform: FrameTransform,
  xPx: number,
  yPx: number,
): { x: number; y: number } {
  return {
    x: transform.a * xPx - transform.b * yPx + transform.tx,
    y: transform.b * xPx + transform.a * yPx + transform.ty,
  };
}

/** The transform that takes back what `transform` does. */
export function invertTransform({ a, b, tx, ty }: FrameTransform): FrameTransform {
  const square = a * a + b * b;
  const [real, imaginary] = [a / square, -b / square];
  return { a: real, b: imaginary, tx: imaginary * ty - real * tx, ty: -imaginary * tx - real * ty };
}

/** Objects whose place cannot be trusted or that are not on the sky. */
const NOT_ON_SKY =
  STAR_FLAGS.spike | STAR_FLAGS.trail | STAR_FLAGS.trailedDouble | STAR_FLAGS.border | STAR_FLAGS.partial;

/** Bright enough for a pattern, few enough that all pairs can be tried: 45 stars give 990 pairs. */
const patternStars = 45;
/** Pairs closer than this turn too freely to fix an angle. */
const shortestPairPx = 60;
/** Pair lengths agree to centroid noise and the distortion of a dither; saturated stars are the worst at about 1 px. */
const lengthTolerancePx = 1.5;
const angleToleranceRad = 0.004;
const shiftTolerancePx = 6;

interface Pair {
  length: number;
  angle: number;
  middleX: number;
  middleY: number;
}

/** Rows of the brightest stars with a place on the sky. */
export function listBrightest(table: StarTable, count: number): number[] {
  const rows: number[] = [];
  for (let row = 0; row < table.flags.length; row++) {
    if ((table.flags[row] & NOT_ON_SKY) === 0 && Number.isFinite(table.xPx[row] + table.fluxAdu[row]))
      rows.push(row);
  }
  return rows.sort((left, right) => table.fluxAdu[right] - table.fluxAdu[left]).slice(0, count);
}

function listPairs(table: StarTable, rows: readonly number[]): Pair[] {
  const pairs: Pair[] = [];
  for (let i = 0; i < rows.length; i++) {
    for (let j = i + 1; j < rows.length; j++) {
      const dx = table.xPx[rows[j]] - table.xPx[rows[i]];
      const dy = table.yPx[rows[j]] - table.yPx[rows[i]];
      const length = Math.hypot(dx, dy);
      if (length < shortestPairPx) continue;
      pairs.push({
        length,
        angle: Math.atan2(dy, dx),
        middleX: table.xPx[rows[i]] + dx / 2,
        middleY: table.yPx[rows[i]] + dy / 2,
      });
    }
  }
  return pairs.sort((left, right) => left.length - right.length);
}

interface Vote {
  turn: number;
  shiftX: number;
  shiftY: number;
}

function wrapAngle(angle: number): number {
  return angle - 2 * Math.PI * Math.round(angle / (2 * Math.PI));
}

/** Every turn and shift under which a pair of one frame would fall on a pair of the other. */
function listVotes(
  reference: readonly Pair[],
  other: readonly Pair[],
  centreX: number,
  centreY: number,
): Vote[] {
  const votes: Vote[] = [];
  let first = 0;
  for (const pair of other) {
    while (first < reference.length && reference[first].length < pair.length - lengthTolerancePx) first++;
    for (let i = first; i < reference.length && reference[i].length <= pair.length + lengthTolerancePx; i++) {
      for (const flip of [0, Math.PI]) {
        const turn = wrapAngle(reference[i].angle - pair.angle + flip);
        const dx = pair.middleX - centreX;
        const dy = pair.middleY - centreY;
        votes.push({
          turn,
          shiftX: reference[i].middleX - centreX - (Math.cos(turn) * dx - Math.sin(turn) * dy),
          shiftY: reference[i].middleY - centreY - (Math.sin(turn) * dx + Math.cos(turn) * dy),
        });
      }
    }
  }
  return votes;
}

/** The turn and shift most votes agree on, and how many; ties go to the first found. */
function countVotes(votes: Vote[]): { best: Vote; count: number } | null {
  const sorted = votes.sort((left, right) => left.shiftX - right.shiftX || left.shiftY - right.shiftY);
  let best: Vote | null = null;
  let most = 0;
  for (let i = 0; i < sorted.length; i++) {
    const agreeing: Vote[] = [];
    for (let j = i; j < sorted.length && sorted[j].shiftX - sorted[i].shiftX < shiftTolerancePx; j++) {
      const close =
        Math.abs(sorted[j].shiftY - sorted[i].shiftY) < shiftTolerancePx &&
        Math.abs(wrapAngle(sorted[j].turn - sorted[i].turn)) < angleToleranceRad;
      if (close) agreeing.push(sorted[j]);
    }
    if (agreeing.length <= most) continue;
    most = agreeing.length;
    const average = (pick: (vote: Vote) => number) =>
      agreeing.reduce((sum, vote) => sum + pick(vote), 0) / agreeing.length;
    const start = agreeing[0].turn;
    best = {
      turn: start + average((vote) => wrapAngle(vote.turn - start)),
      shiftX: average((vote) => vote.shiftX),
      shiftY: average((vote) => vote.shiftY),
    };
  }
  return best === null ? null : { best, count: most };
}

/**
 * First guess of the transform from `other` onto `reference`, by voting on pairs of bright stars: any shift and any
 * turn (a mount that changed sides of its pier turns the field by 180 degrees), no change of scale. Null where no
 * three pairs agree.
 */
export function guessTransform(reference: StarTable, other: StarTable): FrameTransform | null {
  const referenceRows = listBrightest(reference, patternStars);
  const otherRows = listBrightest(other, patternStars);
  if (referenceRows.length < 3 || otherRows.length < 3) return null;
  const centreX = Math.max(...otherRows.map((row) => other.xPx[row])) / 2;
  const centreY = Math.max(...otherRows.map((row) => other.yPx[row])) / 2;
  const votes = listVotes(listPairs(reference, referenceRows), listPairs(other, otherRows), centreX, centreY);
  const counted = countVotes(votes);
  if (counted === null || counted.count < 3) return null;
  const { turn, shiftX, shiftY } = counted.best;
  const a = Math.cos(turn);
  const b = Math.sin(turn);
  return {
    a,
    b,
    tx: centreX + shiftX - (a * centreX - b * centreY),
    ty: centreY + shiftY - (b * centreX + a * centreY),
  };
}
