import { STAR_FLAGS } from "./star-table.ts";

/** What is known of candidates before any fit. */
export interface ProfileCandidates {
  xPx: ArrayLike<number>;
  yPx: ArrayLike<number>;
  peakAdu: ArrayLike<number>;
  snr: ArrayLike<number>;
  flags: ArrayLike<number>;
}

/** Below this a star adds noise rather than knowledge of its wings. */
const leastSnr = 50;
/** Blocks of the frame, each with its say, so that a cluster does not speak for the corners. */
const blockColumns = 6;
const blockRows = 4;
const mostPerBlock = 7;
/** A neighbour this much fainter leaves the profile alone. */
const faintNeighbour = 0.02;

/**
 * Rows of the stars the profile is learned from: bright, whole, alone within `reachPx`, spread over the frame.
 * Candidates are brightest first.
 */
export function chooseProfileStars(
  candidates: ProfileCandidates,
  widthPx: number,
  heightPx: number,
  reachPx: number,
): number[] {
  const bad =
    STAR_FLAGS.saturated | STAR_FLAGS.border | STAR_FLAGS.spike | STAR_FLAGS.trail | STAR_FLAGS.partial;
  const count = candidates.xPx.length;
  const cells = indexByCell(candidates, reachPx);
  const taken = new Map<number, number>();
  const chosen: number[] = [];
  for (let i = 0; i < count; i++) {
    if (candidates.snr[i] < leastSnr || (candidates.flags[i] & bad) !== 0) continue;
    const block =
      Math.floor((candidates.xPx[i] / widthPx) * blockColumns) +
      blockColumns * Math.floor((candidates.yPx[i] / heightPx) * blockRows);
    const already = taken.get(block) ?? 0;
    if (already >= mostPerBlock || hasNeighbour(candidates, i, cells, reachPx)) continue;
    taken.set(block, already + 1);
    chosen.push(i);
  }
  return chosen;
}

function indexByCell(candidates: ProfileCandidates, cellPx: number): Map<string, number[]> {
  const cells = new Map<string, number[]>();
  for (let i = 0; i < candidates.xPx.length; i++) {
    const key = `${Math.floor(candidates.xPx[i] / cellPx)} ${Math.floor(candidates.yPx[i] / cellPx)}`;
    const cell = cells.get(key);
    if (cell === undefined) cells.set(key, [i]);
    else cell.push(i);
  }
  return cells;
}

function hasNeighbour(
  candidates: ProfileCandidates,
  star: number,
  cells: Map<string, number[]>,
  reachPx: number,
): boolean {
  const column = Math.floor(candidates.xPx[star] / reachPx);
  const row = Math.floor(candidates.yPx[star] / reachPx);
  for (let dy = -1; dy <= 1; dy++) {
    for (let dx = -1; dx <= 1; dx++) {
      for (const other of cells.get(`${column + dx} ${row + dy}`) ?? []) {
        if (other === star || candidates.peakAdu[other] < faintNeighbour * candidates.peakAdu[star]) continue;
        const x = candidates.xPx[other] - candidates.xPx[star];
        const y = candidates.yPx[other] - candidates.yPx[star];
        if (x * x + y * y < reachPx * reachPx) return true;
      }
    }
  }
  return false;
}
