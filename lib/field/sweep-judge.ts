import type { SweepFrame, SweepResults } from "./sweep.ts";
import { looseSteepness, steepnessOnRecord } from "./sweep-covariance.ts";
import { shared } from "./sweep-model.ts";
import { readError, type SweepProblem, type SweepSolution, solveSweep } from "./sweep-solve.ts";

/** A frame that took part; `inward` 1 where its position was reached from outside. */
export type UsedFrame = SweepFrame & { inward: number };

/** The steepness may differ from 1 by this share before the record's step or focal ratio is doubted (chosen). */
const steepnessAllowed = 0.15;
/** Departure of steepness and of the positions' scale together from which on the record is put to the test (chosen). */
const steepnessDoubted = 0.06;
/** What focusers err by at most, one sigma, um; and where positions are taken at their word (chosen). */
const positionErrors = { most: 15, trusted: 1 } as const;

/**
 * The fit with the blur cone as steep as the focal ratio on record makes it; where the stars pull it away from there
 * beyond doubt, the fit that leaves it free.
 */
export function solveWithRecord(
  problem: SweepProblem,
  start: Float64Array,
  fixed: ReadonlySet<number>,
): SweepSolution {
  const record = { fixed, steepness: steepnessOnRecord, positionUm: positionErrors.most };
  const solution = solveSweep(problem, start, record);
  // A wrong step size shows as errors of the positions that grow with the position.
  let [product, squares] = [0, 0];
  problem.frames.forEach(({ state }, f) => {
    product += solution.own[f][3] * state.shiftUm;
    squares += state.shiftUm ** 2;
  });
  const departure = solution.parameters[shared.steepness] + product / squares;
  if (Math.abs(departure) < steepnessDoubted) return solution;
  const free = solveSweep(problem, start, {
    fixed,
    steepness: looseSteepness,
    positionUm: positionErrors.trusted,
  });
  const size = Math.abs(free.parameters[shared.steepness]);
  return size > steepnessAllowed && size > 3 * readError(free, "steepness") ? free : solution;
}

/** Which way the focuser went from frame to frame. One odd step out of many is the return to the start. */
export function judgeDirection(frames: readonly UsedFrame[]): { mixed: boolean; sentence: string } {
  const steps = frames.slice(1).map((frame, k) => frame.positionUm - frames[k].positionUm);
  const inward = steps.filter((step) => step < 0).length;
  const outward = steps.filter((step) => step > 0).length;
  if (Math.min(inward, outward) === 0) {
    const way = outward > 0 ? "outwards (away from the telescope)" : "inwards (towards the telescope)";
    return {
      mixed: false,
      sentence: `All positions were reached ${way}: play in the focuser shifts them alike and is not in the surface's shape. Come to the best position the same way.`,
    };
  }
  return {
    mixed: true,
    sentence: `The focuser went both ways (${outward} steps outwards, ${inward} inwards); its lag is fitted along with the surface.`,
  };
}

export function judgeSweep(sweep: SweepResults, used: readonly UsedFrame[]): string[] {
  const sentences: string[] = [];
  const { steepness, bestPosition } = sweep;
  if (steepness?.value && Math.abs(Math.log(steepness.value)) > steepnessAllowed) {
    sentences.push(
      `Out of focus the stars grow ${steepness.value.toFixed(2)} times as fast as umPerStep and the focal ratio on record make them: one of the two is probably wrong, and every height of the sweep scales with umPerStep.`,
    );
  }
  const ends = used.map(({ positionUm }) => positionUm);
  const [low, high] = [Math.min(...ends), Math.max(...ends)];
  if (bestPosition.value !== null && (bestPosition.value < low || bestPosition.value > high)) {
    const way = bestPosition.value < low ? "inwards" : "outwards";
    sentences.push(`The sweep ends before the best common focus: go on ${way} and test again.`);
  }
  return sentences;
}
