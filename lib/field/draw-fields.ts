import { factorCholesky, solveCholesky } from "../maths/linear.ts";
import { makeNormalRandom, type Random } from "../maths/random.ts";
import { TERM, TERMS } from "./field-model.ts";
import {
  computeJacobian,
  countParameters,
  type FieldProblem,
  listPulls,
  weighSamples,
} from "./field-problem.ts";
import type { FittedPoint } from "./refine-fit.ts";
import type { FieldMode } from "./search-valleys.ts";

/** Draws in all; enough for the ends of a 95 % interval to 10 % of its width. */
const drawsWanted = 400;
/** Blocks of the sensor that are weighed as one, for what the model leaves out is alike in neighbouring places. */
const blocksAcross = 10;
const blocksDown = 7;

/** The block that each sample lies in; few samples are blocks of their own. */
function listBlocks(problem: FieldProblem): { of: Int32Array; count: number } {
  const places: number[] = [];
  const names = new Map<string, number>();
  const r = problem.halfDiagonalMm;
  let serial = 0;
  for (const { samples } of problem.frames) {
    const single = samples.count.length < 2 * blocksAcross * blocksDown;
    for (let i = 0; i < samples.count.length; i++) {
      const column = Math.floor(((samples.xMm[i] / r + 1) / 2) * blocksAcross);
      const row = Math.floor(((samples.yMm[i] / r + 0.7) / 1.4) * blocksDown);
      const name = single ? `star ${serial++}` : `${column} ${row}`;
      const known = names.get(name) ?? names.size;
      names.set(name, known);
      places.push(known);
    }
  }
  return { of: Int32Array.from(places), count: names.size };
}

/**
 * The one Gauss-Newton step takes the fit for straighter than it is, and the model has faults of its own. Both widen the
 * draws: a factor, and a shake of every term, in um at the sensor's corner, by a share of the largest term and of
 * lambda N2. Chosen so that the 95 % intervals of simulated star tables (40 to 5,000 stars) hold the truth in 90 to 97 %.
 */
const widening = 1.15;
const shareOfLargest = 0.005;
const shareOfDepth = 0.01;
/** Within a draw, tilt and centre are held by the tail of what is expected of them, not by its core. */
const tailOverCore = 2.5;

/** One-sigma faults of the model itself for each shared term. */
function listModelFaults(problem: FieldProblem, parameters: Float64Array): Float64Array {
  const r = problem.halfDiagonalMm;
  const { wavelengthUm, focalRatio } = problem.optics;
  const atCorner = new Float64Array(TERMS);
  atCorner[TERM.defocus] = 1;
  atCorner[TERM.tiltX] = atCorner[TERM.tiltY] = r;
  atCorner[TERM.curvature] = atCorner[TERM.astigmatism] = r * r;
  const largest = atCorner.reduce((most, scale, k) => Math.max(most, scale * Math.abs(parameters[k])), 0);
  const fault = shareOfLargest * largest + shareOfDepth * wavelengthUm * focalRatio ** 2;
  return atCorner.map((scale) => (scale > 0 ? fault / scale : 0));
}

/**
 * Fields that agree with the stars, by the weighted-likelihood bootstrap (Newton & Raftery 1994, J. R. Stat. Soc. B
 * 56:3) in one Gauss-Newton step: each block of the sensor gets an exponential weight of mean 1, and the weighted fit's
 * solution is reached from the fitted one by one step. Modes share the draws by their belief.
 */
export function drawFields(
  problem: FieldProblem,
  modes: readonly FieldMode[],
  random: Random,
): Float64Array[] {
  const blocks = listBlocks(problem);
  const size = countParameters(problem);
  // As many degrees of freedom are spent on the fit as it has parameters.
  const normal = makeNormalRandom(random);
  const spread = widening * Math.sqrt((3 * blocks.count) / Math.max(3 * blocks.count - size, 6));
  return modes.flatMap(({ point, share }) => {
    const pulls = listPulls(problem, point.parameters).map((pull, k) =>
      Math.min(pull, 1 / (tailOverCore * problem.expected[k]) ** 2),
    );
    const parts = listBlockParts(problem, point, blocks);
    const pushes = listSmoothPushes(problem, point);
    const faults = listModelFaults(problem, point.parameters);
    return Array.from({ length: Math.round(share * drawsWanted) }, () => {
      const matrix = new Float64Array(size * size);
      // At the fitted point the stars' pull and that of what is expected are in balance: the draws are centred there.
      const gradient = parts.balance.map((value) => -value);
      for (const block of parts.blocks) {
        const weight = -Math.log(1 - random());
        for (let k = 0; k < matrix.length; k++) matrix[k] += weight * block.matrix[k];
        for (let k = 0; k < size; k++) gradient[k] += weight * block.gradient[k];
      }
      for (const push of pushes) {
        const amount = normal();
        for (let k = 0; k < size; k++) gradient[k] += amount * push[k];
      }
      for (let k = 0; k < size; k++) {
        // What is expected is no more certain than it says: its middle is drawn too, or a term that the stars leave open
        // would have no scatter.
        const held = k < TERMS && Number.isNaN(pulls[k]);
        matrix[k * size + k] += held ? 1e12 : k < TERMS ? pulls[k] : 1e-9;
        if (k < TERMS && !held) gradient[k] += Math.sqrt(pulls[k]) * normal();
      }
      const factor = factorCholesky(matrix, size);
      if (factor === null) return Float64Array.from(point.parameters);
      const step = solveCholesky(factor, gradient);
      const moved = point.parameters.map(
        (value, k) => value - spread * step[k] + (k < TERMS ? faults[k] * normal() : 0),
      );
      moved[TERM.coma] = Math.max(0, moved[TERM.coma]);
      return moved;
    });
  });
}

interface NormalPart {
  matrix: Float64Array;
  gradient: Float64Array;
}

/** Each block's share of the Gauss-Newton matrix and gradient; and the whole gradient, which what is expected balances. */
function listBlockParts(
  problem: FieldProblem,
  point: FittedPoint,
  blocks: { of: Int32Array; count: number },
): { blocks: NormalPart[]; balance: Float64Array } {
  const size = countParameters(problem);
  const { residuals } = point;
  const jacobian = computeJacobian(problem, point.parameters, residuals, true);
  const weights = weighSamples(residuals);
  const parts = Array.from({ length: blocks.count }, () => ({
    matrix: new Float64Array(size * size),
    gradient: new Float64Array(size),
  }));
  const balance = new Float64Array(size);
  const row = new Float64Array(size);
  for (let i = 0; i < residuals.length; i++) {
    const sample = (i / 3) | 0;
    const { matrix, gradient } = parts[blocks.of[sample]];
    for (let a = 0; a < size; a++) row[a] = jacobian[a][i];
    for (let a = 0; a < size; a++) {
      const weighted = weights[sample] * row[a];
      if (weighted === 0) continue;
      gradient[a] += weighted * residuals[i];
      balance[a] += weighted * residuals[i];
      for (let b = 0; b < size; b++) matrix[a * size + b] += weighted * row[b];
    }
  }
  return { blocks: parts, balance };
}

/**
 * Measured widths and elongations are off by a little that changes smoothly over the field (the star profile is learned,
 * not given): one-sigma sizes at the corner, from drawn frames. More stars do not make this less.
 */
const smoothFault = { lnWidth: 0.003, e: 0.005 };

/** What each smooth fault of the shapes, one sigma strong, does to the gradient. */
function listSmoothPushes(problem: FieldProblem, point: FittedPoint): Float64Array[] {
  const jacobian = computeJacobian(problem, point.parameters, point.residuals, false);
  const weights = weighSamples(point.residuals);
  const pushes = Array.from({ length: 4 }, () => new Float64Array(jacobian.length));
  const r = problem.halfDiagonalMm;
  const { modelError, errorFactor } = problem;
  let sample = 0;
  for (const { samples } of problem.frames) {
    for (let i = 0; i < samples.count.length; i++, sample++) {
      const [x, y] = [samples.xMm[i] / r, samples.yMm[i] / r];
      const overWidth =
        smoothFault.lnWidth / (errorFactor.lnWidth * Math.hypot(samples.error[2 * i], modelError.lnWidth));
      const overE = smoothFault.e / (errorFactor.e * Math.hypot(samples.error[2 * i + 1], modelError.e));
      jacobian.forEach((column, k) => {
        const width = weights[sample] * overWidth * column[3 * sample];
        pushes[0][k] += (x * x + y * y) * width;
        pushes[1][k] += x * width;
        pushes[2][k] += y * width;
        pushes[3][k] +=
          weights[sample] *
          overE *
          ((x * x - y * y) * column[3 * sample + 1] + 2 * x * y * column[3 * sample + 2]);
      });
    }
  }
  return pushes;
}
