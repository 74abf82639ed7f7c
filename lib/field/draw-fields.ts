import { factorCholesky, solveCholesky } from "../maths/linear.ts";
import { makeNormalRandom, type Random } from "../maths/random.ts";
import { listPulls, weighSamples } from "./field-cost.ts";
import { computeJacobian } from "./field-jacobian.ts";
import { TERM, TERMS } from "./field-model.ts";
import { countParameters, type FieldProblem } from "./field-problem.ts";
import { type FittedPoint, listActive } from "./refine-fit.ts";
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
 * lambda N2. Chosen so that the 95 % intervals hold the truth in 90 to 98 % of drawn and measured frames, where the widths of
 * stars 10 to 40 % out of the narrowest are 1 to 2 % too large and take 8 to 22 % off a strong curvature.
 */
const widening = 1.15;
const shareOfLargest = { other: 0.01, defocus: 0.05, curvature: 0.08 };
const shareOfDepth = 0.01;
/** Of the astigmatism itself, beside the share of the largest term. */
const shareOfAstigmatism = 0.05;
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
  return atCorner.map((scale, k) => {
    if (scale === 0) return 0;
    const share =
      k === TERM.curvature
        ? shareOfLargest.curvature
        : k === TERM.defocus
          ? shareOfLargest.defocus
          : shareOfLargest.other;
    const own = k === TERM.astigmatism ? shareOfAstigmatism * Math.abs(parameters[k]) : 0;
    return (share * largest + shareOfDepth * wavelengthUm * focalRatio ** 2) / scale + own;
  });
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
      k < TERM.coma ? Math.min(pull, 1 / (tailOverCore * problem.expected[k]) ** 2) : pull,
    );
    const parts = listBlockParts(problem, point, blocks);
    const weights = new Float64Array(blocks.count);
    const faults = listModelFaults(problem, point.parameters);
    return Array.from({ length: Math.round(share * drawsWanted) }, () => {
      const matrix = new Float64Array(size * size);
      // At the fitted point the stars' pull and that of what is expected are in balance: the draws are centred there.
      const gradient = parts.balance.map((value) => -value);
      for (let block = 0; block < blocks.count; block++) weights[block] = -Math.log(1 - random());
      for (const part of parts.parts) addPart(part, weights[part.block], matrix, gradient);
      for (let k = 0; k < size; k++) {
        // What is expected is no more certain than it says: its middle is drawn too, or a term that the stars leave open
        // would have no scatter.
        const held = Number.isNaN(pulls[k]);
        matrix[k * size + k] += held ? 1e12 : Math.max(pulls[k], 1e-9);
        if (pulls[k] > 0) gradient[k] += Math.sqrt(pulls[k]) * normal();
      }
      for (let a = 0; a < size; a++) for (let b = 0; b < a; b++) matrix[b * size + a] = matrix[a * size + b];
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

/** What one block's samples of one frame add to the Gauss-Newton matrix and gradient, over the parameters they answer to. */
interface NormalPart {
  block: number;
  active: number[];
  /** Lower half and diagonal only, row-major. */
  matrix: Float64Array;
  gradient: Float64Array;
}

function addPart(part: NormalPart, weight: number, matrix: Float64Array, gradient: Float64Array): void {
  const { active } = part;
  const [count, size] = [active.length, gradient.length];
  for (let a = 0; a < count; a++) {
    const row = active[a] * size;
    gradient[active[a]] += weight * part.gradient[a];
    for (let b = 0; b <= a; b++) matrix[row + active[b]] += weight * part.matrix[a * count + b];
  }
}

/** Each block's parts; and the whole gradient, which what is expected balances. */
function listBlockParts(
  problem: FieldProblem,
  point: FittedPoint,
  blocks: { of: Int32Array; count: number },
): { parts: NormalPart[]; balance: Float64Array } {
  const { residuals } = point;
  const jacobian = computeJacobian(problem, point.parameters);
  const weights = weighSamples(residuals);
  const pulls = listPulls(problem, point.parameters);
  const balance = new Float64Array(countParameters(problem));
  const parts: NormalPart[] = [];
  let sample = 0;
  problem.frames.forEach(({ samples }, f) => {
    const active = listActive(pulls, f);
    const ofFrame = new Map<number, NormalPart>();
    const row = new Float64Array(active.length);
    for (let n = 0; n < samples.count.length; n++, sample++) {
      const block = blocks.of[sample];
      const part = ofFrame.get(block) ?? {
        block,
        active,
        matrix: new Float64Array(active.length ** 2),
        gradient: new Float64Array(active.length),
      };
      ofFrame.set(block, part);
      for (let i = 3 * sample; i < 3 * sample + 3; i++) {
        active.forEach((k, a) => {
          row[a] = jacobian[k][i];
        });
        for (let a = 0; a < active.length; a++) {
          const weighted = weights[sample] * row[a];
          part.gradient[a] += weighted * residuals[i];
          balance[active[a]] += weighted * residuals[i];
          for (let b = 0; b <= a; b++) part.matrix[a * active.length + b] += weighted * row[b];
        }
      }
    }
    parts.push(...ofFrame.values());
  });
  return { parts, balance };
}
