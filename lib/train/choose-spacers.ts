import { roundLength } from "./stack.ts";

/** Spacers that come closest to a length. */
export interface SpacerChoice {
  /** mm, longest first. */
  spacersMm: number[];
  /** Sum of these less the length wanted, mm: positive, too long. */
  excessMm: number;
}

/** A micrometre: finer than any shim is made. */
const stepMm = 0.001;
/** Longest sum looked at, mm, and most pieces: beyond any stack, and a bound on time and memory for a hostile list. */
const longestMm = 200;
const piecesAtMost = 60;

/**
 * The spacers, each used once at most, whose sum is nearest to the length wanted; of several such the one with fewest pieces.
 * Exact, by going through every sum that can be made in steps of one micrometre (subset sum by dynamic programming).
 *
 * Spacers that are not positive are left out; of more than 60 the 60 longest are looked at.
 */
export function chooseSpacers(wantedMm: number, ownedMm: readonly number[]): SpacerChoice {
  const lengths = ownedMm
    .map((length) => Math.round(length / stepMm))
    .filter((length) => length > 0 && length * stepMm <= longestMm)
    .sort((a, b) => b - a)
    .slice(0, piecesAtMost);
  const wanted = Math.round(Math.max(0, wantedMm) / stepMm);
  const total = lengths.reduce((sum, length) => sum + length, 0);
  const reach = Math.min(total, wanted + (lengths[0] ?? 0), longestMm / stepMm);
  const pieces = new Uint8Array(reach + 1).fill(255);
  pieces[0] = 0;
  const taken = lengths.map(() => new Uint8Array(reach + 1));
  lengths.forEach((length, item) => {
    for (let sum = reach; sum >= length; sum--) {
      if (pieces[sum - length] + 1 < pieces[sum]) {
        pieces[sum] = pieces[sum - length] + 1;
        taken[item][sum] = 1;
      }
    }
  });
  let best = 0;
  for (let sum = 0; sum <= reach; sum++) {
    if (pieces[sum] === 255) continue;
    const gain = Math.abs(best - wanted) - Math.abs(sum - wanted);
    if (gain > 0 || (gain === 0 && pieces[sum] < pieces[best])) best = sum;
  }
  const spacersMm: number[] = [];
  for (let item = lengths.length - 1, sum = best; item >= 0; item--) {
    if (taken[item][sum] === 0) continue;
    spacersMm.push(roundLength(lengths[item] * stepMm));
    sum -= lengths[item];
  }
  return { spacersMm: spacersMm.sort((a, b) => b - a), excessMm: roundLength(best * stepMm - wantedMm) };
}

/**
 * All spacers at hand: those owned, and those in the stack that the list of owned ones does not name (each length as often
 * as it stands in the longer of the two lists: a spacer in the stack may be one of those owned).
 */
export function poolSpacers(ownedMm: readonly number[], inStackMm: readonly number[]): number[] {
  const pool = [...ownedMm];
  const left = [...ownedMm];
  for (const spacer of inStackMm) {
    const found = left.findIndex((owned) => Math.abs(owned - spacer) < stepMm / 2);
    if (found >= 0) left.splice(found, 1);
    else pool.push(spacer);
  }
  return pool;
}
