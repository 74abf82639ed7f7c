import { computeStudentQuantile } from "../maths/distributions.ts";
import { huberLimit } from "../maths/robust-fit.ts";
import { predictShape, type Shape, shared } from "./sweep-model.ts";
import type { SweepProblem, SweepSolution } from "./sweep-solve.ts";

/** Best focus of a part of the field by itself. */
export interface CellFocus {
  /** Mean place of the stars, mm. */
  xMm: number;
  yMm: number;
  /** Heights of the focal surface over the sensor at the reference position, um: mean, and half of along less across. */
  height: number;
  half: number;
  heightError: number;
  halfError: number;
  /** Covariance of the two over the product of their errors. */
  correlation: number;
  /** Star measurements used, and frames in which there were any. */
  stars: number;
  frames: number;
}

/** Fewest frames with stars in the cell, and fewest measurements in all, from which two heights can follow (chosen). */
const fewestFrames = 4;
const fewestStars = 12;

/**
 * Best focus along and across the radius of one part of the field, from its own stars only: the curve's shape (the
 * frames' seeing and tracking, the cone's steepness) is that of the whole sweep, the two heights are free. Robust
 * (Huber). Errors from leaving out each frame in turn, with Student's t of the frames put in by the caller.
 *
 * `belongs` says which stars are meant. Null where fewer than four frames or twelve measurements are left.
 */
export function fitCell(
  problem: SweepProblem,
  solution: SweepSolution,
  belongs: (xMm: number, yMm: number) => boolean,
  start: { height: number; half: number },
): CellFocus | null {
  const members = problem.frames.map(({ stars }) =>
    Array.from(stars.xMm.keys()).filter((row) => belongs(stars.xMm[row], stars.yMm[row])),
  );
  const count = members.reduce((sum, rows) => sum + rows.length, 0);
  const filled = members.filter((rows) => rows.length > 0).length;
  if (filled < fewestFrames || count < fewestStars) return null;
  let heights: [number, number] = [start.height, start.half];
  let parts = sumParts(problem, solution, members, heights);
  for (let pass = 0; pass < 12; pass++) {
    const move = solvePair(sumOf(parts, -1));
    if (move === null) return null;
    heights = [heights[0] + limit(move[0]), heights[1] + limit(move[1])];
    parts = sumParts(problem, solution, members, heights);
    if (Math.abs(move[0]) + Math.abs(move[1]) < 0.01) break;
  }
  const whole = sumOf(parts, -1);
  const determinant = whole[0] * whole[2] - whole[1] ** 2;
  const own = [whole[2] / determinant, whole[0] / determinant];
  const moves = parts.flatMap((part, f) => {
    if (members[f].length === 0) return [];
    const rest = sumOf(parts, f);
    return [solvePair([rest[0], rest[1], rest[2], -part[3], -part[4]]) ?? [0, 0]];
  });
  const spread = (k: 0 | 1) => ((filled - 1) / filled) * moves.reduce((sum, move) => sum + move[k] ** 2, 0);
  let [x, y] = [0, 0];
  members.forEach((rows, f) => {
    for (const row of rows) {
      x += problem.frames[f].stars.xMm[row] / count;
      y += problem.frames[f].stars.yMm[row] / count;
    }
  });
  return {
    xMm: x,
    yMm: y,
    height: heights[0],
    half: heights[1],
    heightError: Math.sqrt(Math.max(own[0], spread(0))),
    halfError: Math.sqrt(Math.max(own[1], spread(1))),
    correlation: -whole[1] / Math.sqrt(whole[0] * whole[2]),
    stars: count,
    frames: filled,
  };
}

/** Factor from a standard error to the reach of a 95 % interval with as many frames. */
export function reachOfFrames(frames: number): number {
  return computeStudentQuantile(0.975, Math.max(2, frames - 1));
}

const largestMoveUm = 40;

function limit(move: number): number {
  return Math.max(-largestMoveUm, Math.min(largestMoveUm, move));
}

/** Normal matrix (upper triangle, three) and gradient (two). */
type Part = [number, number, number, number, number];

function sumOf(parts: readonly Part[], without: number): Part {
  const sum: Part = [0, 0, 0, 0, 0];
  parts.forEach((part, f) => {
    if (f !== without) for (let k = 0; k < 5; k++) sum[k] += part[k];
  });
  return sum;
}

function solvePair([a, b, c, g, h]: Part): [number, number] | null {
  const determinant = a * c - b * b;
  if (!(determinant > 1e-12 * a * c)) return null;
  return [(c * g - b * h) / determinant, (a * h - b * g) / determinant];
}

function sumParts(
  problem: SweepProblem,
  solution: SweepSolution,
  members: readonly number[][],
  [height, half]: readonly [number, number],
): Part[] {
  const base: Shape = [0, 0, 0];
  const byHeight: Shape = [0, 0, 0];
  const byHalf: Shape = [0, 0, 0];
  const step = 0.1;
  return problem.frames.map(({ stars, state }, f) => {
    const part: Part = [0, 0, 0, 0, 0];
    for (const row of members[f]) {
      const dx = stars.xMm[row] - solution.parameters[shared.centreX];
      const dy = stars.yMm[row] - solution.parameters[shared.centreY];
      const r2 = dx * dx + dy * dy;
      const predict = (mean: number, apart: number, into: Shape) =>
        predictShape(
          problem.grid,
          problem.focalRatio,
          solution.parameters,
          solution.own[f],
          state,
          { tangential: mean + apart, sagittal: mean - apart, dx, dy, r2 },
          into,
        );
      predict(height, half, base);
      predict(height + step, half, byHeight);
      predict(height, half + step, byHalf);
      const observed = [stars.logWidth[row], stars.e1[row], stars.e2[row]];
      for (let d = 0; d < 3; d++) {
        const sigma = solution.scale * (d === 0 ? stars.logError[row] : stars.eError[row]);
        const difference = observed[d] - base[d];
        const size = Math.abs(difference) / sigma;
        const weight = (size <= huberLimit ? 1 : huberLimit / size) / (sigma * sigma);
        const [u, v] = [(byHeight[d] - base[d]) / step, (byHalf[d] - base[d]) / step];
        part[0] += weight * u * u;
        part[1] += weight * u * v;
        part[2] += weight * v * v;
        part[3] += weight * u * difference;
        part[4] += weight * v * difference;
      }
    }
    return part;
  });
}
