import type { Candidates } from "./candidates.ts";
import { STAR_FLAGS } from "./star-table.ts";

/** A candidate is part of a ridge when its least curvature is under this share of the greatest: stars lie above. */
const LEAST_RIDGE = 0.6;
/** Ridge directions of the pieces of a trail agree with the trail's within this angle, degrees. */
const ANGLE_TOLERANCE_DEG = 20;
/** Fewest pieces that make a trail. */
const FEWEST_PIECES = 8;
/** Probability that chance lines up so many pieces, over all lines looked at, that is still accepted. */
const CHANCE = 1e-6;
/** Pieces looked at, the brightest first; lines grow with their square. */
const MOST_PIECES = 400;
const MOST_TRAILS = 12;

/** A straight trail: x cos + y sin = distance, from `from` to `to` along (-sin, cos), px, y down. */
export interface Trail {
  cos: number;
  sin: number;
  distancePx: number;
  fromPx: number;
  toPx: number;
  halfWidthPx: number;
  pieces: number;
}

/** ln of the probability that a Poisson variable of the given mean reaches n or more (leading term, an upper bound within a factor of 2 for n > 2 mean). */
function logPoissonTail(n: number, mean: number): number {
  if (n <= mean) return 0;
  let logFactorial = 0;
  for (let k = 2; k <= n; k++) logFactorial += Math.log(k);
  return n * Math.log(mean) - mean - logFactorial + Math.log(1 / (1 - mean / (n + 1)));
}

/** Angle between two directions without sense, degrees, 0...90. */
function separate(aDeg: number, bDeg: number): number {
  const d = Math.abs(aDeg - bDeg) % 180;
  return Math.min(d, 180 - d);
}

/** Direction of (dx, dy), y down, as candidates state theirs: degrees, y up. */
function directionDeg(dx: number, dy: number): number {
  return ((Math.atan2(-dy, dx) * 180) / Math.PI + 360) % 180;
}

/** Members of the line through two places: pieces within `halfWidthPx` of it whose ridge runs along it. */
function gatherPieces(
  candidates: Candidates,
  pieces: readonly number[],
  cos: number,
  sin: number,
  distance: number,
  halfWidthPx: number,
): number[] {
  const along = directionDeg(-sin, cos);
  return pieces.filter(
    (i) =>
      Math.abs(candidates.xPx[i] * cos + candidates.yPx[i] * sin - distance) <= halfWidthPx &&
      separate(candidates.ridgeAngleDeg[i], along) <= ANGLE_TOLERANCE_DEG,
  );
}

/** Straight line of least squared distances through some candidates. */
function fitLine(candidates: Candidates, rows: readonly number[]) {
  let x = 0;
  let y = 0;
  for (const i of rows) {
    x += candidates.xPx[i] / rows.length;
    y += candidates.yPx[i] / rows.length;
  }
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (const i of rows) {
    xx += (candidates.xPx[i] - x) ** 2;
    xy += (candidates.xPx[i] - x) * (candidates.yPx[i] - y);
    yy += (candidates.yPx[i] - y) ** 2;
  }
  const angle = 0.5 * Math.atan2(2 * xy, xx - yy) + Math.PI / 2;
  const cos = Math.cos(angle);
  const sin = Math.sin(angle);
  return { cos, sin, distance: x * cos + y * sin };
}

/** The longest run of members along the line without a gap of more than `gapPx`. */
function findRun(positions: readonly number[], gapPx: number): { from: number; to: number; count: number } {
  const sorted = positions.toSorted((a, b) => a - b);
  let best = { from: sorted[0], to: sorted[0], count: 1 };
  let start = 0;
  for (let i = 1; i <= sorted.length; i++) {
    if (i < sorted.length && sorted[i] - sorted[i - 1] <= gapPx) continue;
    if (i - start > best.count) best = { from: sorted[start], to: sorted[i - 1], count: i - start };
    start = i;
  }
  return best;
}

function findTrail(
  candidates: Candidates,
  pieces: readonly number[],
  areaPx2: number,
  fwhmPx: number,
): (Trail & { members: number[] }) | null {
  const halfWidthPx = Math.max(2, fwhmPx);
  const diagonal = Math.sqrt(2 * areaPx2);
  // The pieces of a trail follow each other every few widths; a line of strangers has wide gaps.
  const gapPx = Math.max(40 * fwhmPx, 0.05 * diagonal);
  let best: (Trail & { members: number[] }) | null = null;
  let leastChance = Math.log(CHANCE);
  const lines = (pieces.length * pieces.length) / 2;
  // Two pieces of the best line so far would only give that line again: a long trail has tens of thousands of pairs.
  const inBest = new Set<number>();
  for (let a = 0; a < pieces.length; a++) {
    const i = pieces[a];
    for (let b = a + 1; b < pieces.length; b++) {
      const j = pieces[b];
      if (inBest.has(i) && inBest.has(j)) continue;
      const dx = candidates.xPx[j] - candidates.xPx[i];
      const dy = candidates.yPx[j] - candidates.yPx[i];
      const length = Math.hypot(dx, dy);
      if (length < 10 * fwhmPx || length > gapPx * 4) continue;
      const direction = directionDeg(dx, dy);
      if (separate(candidates.ridgeAngleDeg[i], direction) > ANGLE_TOLERANCE_DEG) continue;
      if (separate(candidates.ridgeAngleDeg[j], direction) > ANGLE_TOLERANCE_DEG) continue;
      const cos = -dy / length;
      const sin = dx / length;
      let line = { cos, sin, distance: candidates.xPx[i] * cos + candidates.yPx[i] * sin };
      let members = gatherPieces(candidates, pieces, line.cos, line.sin, line.distance, 2 * halfWidthPx);
      if (members.length < FEWEST_PIECES) continue;
      for (let round = 0; round < 3; round++) {
        line = fitLine(candidates, members);
        const next = gatherPieces(candidates, pieces, line.cos, line.sin, line.distance, halfWidthPx);
        if (next.length < FEWEST_PIECES) break;
        members = next;
      }
      const place = (k: number) => -candidates.xPx[k] * line.sin + candidates.yPx[k] * line.cos;
      const run = findRun(members.map(place), gapPx);
      if (run.count < FEWEST_PIECES) continue;
      // Strangers of the same direction, spread evenly, would put so many pieces onto a strip of this size.
      const along = directionDeg(-line.sin, line.cos);
      const alike = pieces.filter(
        (k) => separate(candidates.ridgeAngleDeg[k], along) <= ANGLE_TOLERANCE_DEG,
      ).length;
      const strangers = Math.max(1, alike - run.count);
      const mean = (strangers * 2 * halfWidthPx * (run.to - run.from + fwhmPx)) / areaPx2;
      const chance = logPoissonTail(run.count - 2, Math.max(mean, 1e-3)) + Math.log(lines);
      if (chance >= leastChance) continue;
      leastChance = chance;
      best = {
        cos: line.cos,
        sin: line.sin,
        distancePx: line.distance,
        fromPx: run.from,
        toPx: run.to,
        halfWidthPx: 2 * halfWidthPx,
        pieces: run.count,
        members: members.filter((k) => place(k) >= run.from && place(k) <= run.to),
      };
      inBest.clear();
      for (const member of best.members) inBest.add(member);
    }
  }
  return best;
}

/**
 * Finds straight trails of satellites and aeroplanes and sets STAR_FLAGS.trail on every candidate on them. A trail meets
 * the matched filter as a ridge, which noise breaks into many elongated maxima: so many elongated along one line, close
 * after each other, that chance would not line them up in one frame of a million. Stars all drawn out alike by the
 * mount are alike everywhere and make no line. `widthPx` and `heightPx` are the frame's.
 */
export function flagTrails(
  candidates: Candidates,
  widthPx: number,
  heightPx: number,
  fwhmPx: number,
): Trail[] {
  const trails: Trail[] = [];
  const areaPx2 = widthPx * heightPx;
  const skip = STAR_FLAGS.spike | STAR_FLAGS.saturated | STAR_FLAGS.trail;
  let pieces: number[] = [];
  for (let i = 0; i < candidates.xPx.length && pieces.length < MOST_PIECES; i++) {
    if (candidates.ridge[i] >= LEAST_RIDGE && (candidates.flags[i] & skip) === 0) pieces.push(i);
  }
  while (trails.length < MOST_TRAILS && pieces.length >= FEWEST_PIECES) {
    const found = findTrail(candidates, pieces, areaPx2, fwhmPx);
    if (found === null) break;
    const { members, ...trail } = found;
    trails.push(trail);
    for (let i = 0; i < candidates.xPx.length; i++) {
      const x = candidates.xPx[i];
      const y = candidates.yPx[i];
      const off = Math.abs(x * trail.cos + y * trail.sin - trail.distancePx);
      const place = -x * trail.sin + y * trail.cos;
      const reach = 5 * trail.halfWidthPx;
      if (off <= trail.halfWidthPx && place >= trail.fromPx - reach && place <= trail.toPx + reach) {
        candidates.flags[i] |= STAR_FLAGS.trail;
      }
    }
    const taken = new Set(members);
    pieces = pieces.filter((i) => !taken.has(i) && (candidates.flags[i] & STAR_FLAGS.trail) === 0);
  }
  return trails;
}
