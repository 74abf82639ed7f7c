import { factorCholesky, solveCholesky } from "../maths/linear.ts";
import { huberLimit } from "../maths/robust-fit.ts";
import type { BlurGrid } from "./blur-width.ts";
import {
  computeFoci,
  ownCount,
  predictShape,
  type Shape,
  type SweepFrameState,
  sharedCount,
} from "./sweep-model.ts";
import type { SweepStars } from "./sweep-stars.ts";

export interface SweepProblem {
  frames: readonly { stars: SweepStars; state: SweepFrameState }[];
  grid: BlurGrid;
  focalRatio: number;
}

/** What one frame adds to the fit, its own parameters eliminated (Schur complement). */
export interface ReducedFrame {
  /** Normal matrix and gradient of the shared parameters with the frame's own ones eliminated. */
  matrix: Float64Array;
  gradient: Float64Array;
  ownFactor: Float64Array;
  ownGradient: Float64Array;
  cross: Float64Array;
  cost: number;
}

/** How widely the frames' own parameters may scatter, one sigma: of ln width, of tracking, and of positions (um). */
export interface OwnSpread {
  width: number;
  tracking: number;
  positionUm: number;
}

/** Steps of the forward differences, in the units of the shared parameters. */
const steps = [0.05, 0.01, 0.01, 5e-4, 5e-4, 0.02, 0.02, 1e-3, 1e-4, 0.05];
const ownSteps = [1e-4, 1e-4, 1e-4, 0.05];
/** Expected shape of a star of a frame. */
export function predictStar(
  problem: SweepProblem,
  frame: number,
  row: number,
  parameters: ArrayLike<number>,
  own: ArrayLike<number>,
  into: Shape,
): void {
  const { stars, state } = problem.frames[frame];
  const foci = computeFoci(parameters, stars.xMm[row], stars.yMm[row]);
  predictShape(problem.grid, problem.focalRatio, parameters, own, state, foci, into);
}

const all = sharedCount + ownCount;

export function reduceFrame(
  problem: SweepProblem,
  frame: number,
  parameters: Float64Array,
  own: Float64Array,
  scale: number,
  spread: OwnSpread,
): ReducedFrame {
  const { stars } = problem.frames[frame];
  const normal = new Float64Array(all * all);
  const gradient = new Float64Array(all);
  const jacobian = new Float64Array(3 * all);
  const base: Shape = [0, 0, 0];
  const moved: Shape = [0, 0, 0];
  const moving = Float64Array.from(parameters);
  const movingOwn = Float64Array.from(own);
  let cost = 0;
  for (let row = 0; row < stars.xMm.length; row++) {
    predictStar(problem, frame, row, parameters, own, base);
    for (let k = 0; k < all; k++) {
      const isShared = k < sharedCount;
      const step = isShared ? steps[k] : ownSteps[k - sharedCount];
      const list = isShared ? moving : movingOwn;
      const place = isShared ? k : k - sharedCount;
      const kept = list[place];
      list[place] = kept + step;
      predictStar(problem, frame, row, moving, movingOwn, moved);
      list[place] = kept;
      for (let d = 0; d < 3; d++) jacobian[d * all + k] = (moved[d] - base[d]) / step;
    }
    const observed = [stars.logWidth[row], stars.e1[row], stars.e2[row]];
    for (let d = 0; d < 3; d++) {
      const sigma = scale * (d === 0 ? stars.logError[row] : stars.eError[row]);
      const residual = (observed[d] - base[d]) / sigma;
      const size = Math.abs(residual);
      const weight = (size <= huberLimit ? 1 : huberLimit / size) / (sigma * sigma);
      cost += size <= huberLimit ? size * size : huberLimit * (2 * size - huberLimit);
      const difference = observed[d] - base[d];
      for (let i = 0; i < all; i++) {
        const at = weight * jacobian[d * all + i];
        if (at === 0) continue;
        gradient[i] += at * difference;
        for (let j = 0; j <= i; j++) normal[i * all + j] += at * jacobian[d * all + j];
      }
    }
  }
  for (let i = 0; i < all; i++) for (let j = i + 1; j < all; j++) normal[i * all + j] = normal[j * all + i];
  for (let k = 0; k < ownCount; k++) {
    const weight = 1 / [spread.width, spread.tracking, spread.tracking, spread.positionUm][k] ** 2;
    normal[(sharedCount + k) * all + sharedCount + k] += weight;
    gradient[sharedCount + k] -= weight * own[k];
    cost += weight * own[k] * own[k];
  }
  return eliminateOwn(normal, gradient, cost);
}

function makeIdentity(): Float64Array {
  return Float64Array.from({ length: ownCount * ownCount }, (_, k) => (k % (ownCount + 1) === 0 ? 1 : 0));
}

function eliminateOwn(normal: Float64Array, gradient: Float64Array, cost: number): ReducedFrame {
  const block = new Float64Array(ownCount * ownCount);
  const cross = new Float64Array(sharedCount * ownCount);
  for (let i = 0; i < ownCount; i++) {
    for (let j = 0; j < ownCount; j++) {
      block[i * ownCount + j] = normal[(sharedCount + i) * all + sharedCount + j];
    }
  }
  for (let i = 0; i < sharedCount; i++) {
    for (let k = 0; k < ownCount; k++) cross[i * ownCount + k] = normal[i * all + sharedCount + k];
  }
  const ownFactor = factorCholesky(block, ownCount) ?? makeIdentity();
  const ownGradient = gradient.slice(sharedCount);
  const matrix = new Float64Array(sharedCount * sharedCount);
  const reduced = new Float64Array(sharedCount);
  const solvedGradient = solveCholesky(ownFactor, ownGradient);
  for (let i = 0; i < sharedCount; i++) {
    const solved = solveCholesky(ownFactor, cross.subarray(i * ownCount, (i + 1) * ownCount));
    reduced[i] = gradient[i];
    for (let k = 0; k < ownCount; k++) reduced[i] -= cross[i * ownCount + k] * solvedGradient[k];
    for (let j = 0; j < sharedCount; j++) {
      let sum = normal[i * all + j];
      for (let k = 0; k < ownCount; k++) sum -= solved[k] * cross[j * ownCount + k];
      matrix[i * sharedCount + j] = sum;
    }
  }
  return { matrix, gradient: reduced, ownFactor, ownGradient, cross, cost };
}
