import { factorCholesky, solveCholesky } from "../maths/linear.ts";
import { madToSigma, median } from "../maths/statistics.ts";
import { estimateCovariance, type SweepKnowledge, sumFrames, weighPrior } from "./sweep-covariance.ts";
import { ownCount, type Shape, shared, sharedCount } from "./sweep-model.ts";
import {
  type OwnSpread,
  predictStar,
  type ReducedFrame,
  reduceFrame,
  type SweepProblem,
} from "./sweep-reduce.ts";

export type { SweepProblem } from "./sweep-reduce.ts";

export interface SweepSolution {
  parameters: Float64Array;
  /** Each frame's own parameters. */
  own: Float64Array[];
  /** Covariance of `parameters`, row-major: from the stars' scatter or from leaving out each frame, as is larger. */
  covariance: Float64Array;
  /** Scatter of the residuals over the uncertainties stated. */
  scale: number;
  converged: boolean;
}

const passes = 40;

/**
 * Robust (Huber) least squares of all stars of all frames by Levenberg's and Marquardt's method (Marquardt 1963, J. Soc.
 * Ind. Appl. Math. 11:431). The frames' own parameters are random effects with a spread that is estimated along with
 * them, so that a change of seeing from frame to frame is not taken for a change of focus; they are eliminated frame by
 * frame (Schur complement).
 */
export function solveSweep(problem: SweepProblem, start: Float64Array, known: SweepKnowledge): SweepSolution {
  let parameters = Float64Array.from(start);
  let own = problem.frames.map(() => new Float64Array(ownCount));
  let scale = 1;
  let converged = false;
  const spread: OwnSpread = { width: 0.15, tracking: 0.1, positionUm: 4 };
  let damping = 1e-3;
  let current = reduceAll(problem, parameters, own, scale, spread);
  for (let pass = 0; pass < passes && !converged; pass++) {
    const tried = stepFrom(current, parameters, own, known, damping);
    if (tried === null) break;
    const next = reduceAll(problem, tried.parameters, tried.own, scale, spread);
    const gain = sumCost(current, parameters, known) - sumCost(next, tried.parameters, known);
    if (gain < 0) {
      damping *= 8;
      if (damping > 1e8) break;
      continue;
    }
    damping = Math.max(1e-9, damping / 5);
    converged = pass > 6 && gain < 1e-7 * sumCost(next, tried.parameters, known);
    parameters = tried.parameters;
    own = tried.own;
    current = next;
    if (pass === 3 || pass === 6) {
      scale = Math.max(0.3, estimateScale(problem, parameters, own));
      spread.width = Math.min(0.3, Math.max(0.02, rootMeanSquare(own.map((o) => o[0]))));
      spread.tracking = Math.min(0.3, Math.max(0.02, rootMeanSquare(own.flatMap((o) => [o[1], o[2]]))));
      spread.positionUm = Math.min(known.positionUm, Math.max(0.3, rootMeanSquare(own.map((o) => o[3]))));
      current = reduceAll(problem, parameters, own, scale, spread);
    }
  }
  return { parameters, own, covariance: estimateCovariance(current, known), scale, converged };
}

function rootMeanSquare(values: readonly number[]): number {
  return Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / Math.max(1, values.length));
}

function reduceAll(
  problem: SweepProblem,
  parameters: Float64Array,
  own: readonly Float64Array[],
  scale: number,
  spread: OwnSpread,
): ReducedFrame[] {
  return problem.frames.map((_, frame) => reduceFrame(problem, frame, parameters, own[frame], scale, spread));
}

function sumCost(frames: readonly ReducedFrame[], parameters: Float64Array, known: SweepKnowledge): number {
  const prior = parameters.reduce((sum, value, k) => sum + weighPrior(k, known) * value * value, 0);
  return frames.reduce((sum, { cost }) => sum + cost, prior);
}

function stepFrom(
  frames: readonly ReducedFrame[],
  parameters: Float64Array,
  own: readonly Float64Array[],
  known: SweepKnowledge,
  damping: number,
) {
  const { matrix, gradient } = sumFrames(frames, parameters, known);
  for (let k = 0; k < sharedCount; k++) {
    matrix[k * sharedCount + k] = matrix[k * sharedCount + k] * (1 + damping) + 1e-12;
  }
  const factor = factorCholesky(matrix, sharedCount);
  if (factor === null) return null;
  const move = solveCholesky(factor, gradient);
  const nextOwn = own.map((values, f) => {
    const { ownFactor, ownGradient, cross } = frames[f];
    const right = ownGradient.map((value, k) => {
      let rest = value;
      for (let i = 0; i < sharedCount; i++) rest -= cross[i * ownCount + k] * move[i];
      return rest;
    });
    const change = solveCholesky(ownFactor, right);
    return values.map((value, k) => value + change[k]);
  });
  return { parameters: parameters.map((value, k) => value + move[k]), own: nextOwn };
}

function estimateScale(
  problem: SweepProblem,
  parameters: Float64Array,
  own: readonly Float64Array[],
): number {
  const sizes: number[] = [];
  const shape: Shape = [0, 0, 0];
  problem.frames.forEach(({ stars }, frame) => {
    for (let row = 0; row < stars.xMm.length; row++) {
      predictStar(problem, frame, row, parameters, own[frame], shape);
      sizes.push(
        Math.abs(stars.logWidth[row] - shape[0]) / stars.logError[row],
        Math.abs(stars.e1[row] - shape[1]) / stars.eError[row],
        Math.abs(stars.e2[row] - shape[2]) / stars.eError[row],
      );
    }
  });
  return madToSigma * median(sizes);
}

/** Standard error of a shared parameter. */
export function readError(solution: SweepSolution, parameter: keyof typeof shared): number {
  const k = shared[parameter];
  return Math.sqrt(solution.covariance[k * sharedCount + k]);
}
