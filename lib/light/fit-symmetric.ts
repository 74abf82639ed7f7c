import { factorCholesky, invertCholesky, solveCholesky } from "../maths/linear.ts";
import { estimateMadSigma } from "../maths/statistics.ts";
import { type LightCells, weighCells } from "./light-cells.ts";
import { evaluateRadial } from "./light-map.ts";
import { findInterval, writeCubicSlopes, writeCubicWeights } from "./spline-basis.ts";

/** (1 + gradient . p) R(|p - centre|), fitted to the cells. */
export interface SymmetricFit {
  centre: { x: number; y: number };
  gradient: { x: number; y: number };
  radialStepMm: number;
  radial: Float64Array;
  /** Standard errors of centre and gradient, unmodelled structure counted in. */
  centreError: { x: number; y: number };
  gradientError: { x: number; y: number };
}

/** Knots along the half-diagonal: the radial curve can bend within 0.35 mm of a 28 mm diagonal, as a ring's edge makes it. */
const knotsToCorner = 40;
const rounds = { first: 7, again: 3 };

/**
 * Light that no such model holds (a second ring off centre, ghosts) is taken as 0.02 % of the light, alike over a twentieth
 * of the frame (chosen: a tenth of what is asked of the corners). It bounds how well the centre can be told from a gradient.
 */
const structure = { share: 2e-4, patches: 20 };
/** Rings sit within some millimetres of the axis: the prior of their centre, mm (chosen). */
const centrePriorMm = 2;
/** Weight that keeps the second differences of the radial curve small where no cell lies. */
const smoothing = 2e-2;

/**
 * Fits a part that is symmetric about a free centre, times a plane, to the cells not masked: Gauss-Newton with Huber's
 * weights. Where the curve is flat or a plain parabola, centre and gradient are one; the prior then puts the centre in the
 * sensor's middle, the gradient takes all, and the centre's error says so.
 */
export function fitSymmetric(
  cells: LightCells,
  masked: Uint8Array,
  halfDiagonalMm: number,
  reachMm: number,
  before: SymmetricFit | null = null,
): SymmetricFit {
  const radialStepMm = Math.max(halfDiagonalMm / knotsToCorner, 2 * cells.stepMm);
  const intervals = Math.ceil((reachMm + 2 * centrePriorMm) / radialStepMm);
  const n = intervals + 3;
  const size = n + 4;
  const state = new Float64Array(size);
  state.fill(1, 0, n);
  if (before !== null) {
    state.set(before.radial);
    state.set([before.centre.x, before.centre.y, before.gradient.x, before.gradient.y], n);
  }
  const turns = before === null ? rounds.first : rounds.again;
  const used = listUsed(cells, masked);
  let inverse = new Float64Array(size * size);
  let weights: Float64Array | null = null;
  let effective = structure.share;
  for (let round = 0; round < turns; round++) {
    const { matrix, right, residuals } = assemble(cells, used, state, n, radialStepMm, weights);
    weights = weighCells(residuals, cells.columns, cells.rows);
    effective = Math.max(
      estimateMadSigma(residuals),
      structure.share * Math.sqrt(used.length / structure.patches),
    );
    const hold = (effective / centrePriorMm) ** 2;
    for (let k = 0; k < 2; k++) {
      matrix[(n + k) * size + n + k] += hold;
      right[n + k] -= hold * state[n + k];
    }
    addSmoothing(matrix, right, state, n, size, used.length / n);
    const factor = factorCholesky(matrix, size);
    if (factor === null) break;
    const step = solveCholesky(factor, right);
    for (let k = 0; k < size; k++) state[k] += step[k];
    const away = Math.hypot(state[n], state[n + 1]);
    if (away > 2 * centrePriorMm) {
      state[n] *= (2 * centrePriorMm) / away;
      state[n + 1] *= (2 * centrePriorMm) / away;
    }
    if (round === turns - 1) inverse = new Float64Array(invertCholesky(factor, size));
  }
  const error = (k: number) => effective * Math.sqrt(Math.max(0, inverse[k * size + k]));
  return {
    centre: { x: state[n], y: state[n + 1] },
    gradient: { x: state[n + 2], y: state[n + 3] },
    radialStepMm,
    radial: state.slice(0, n),
    centreError: { x: error(n), y: error(n + 1) },
    gradientError: { x: error(n + 2), y: error(n + 3) },
  };
}

function listUsed(cells: LightCells, masked: Uint8Array): number[] {
  const used: number[] = [];
  for (let k = 0; k < cells.light.length; k++)
    if (masked[k] === 0 && Number.isFinite(cells.light[k])) used.push(k);
  return used;
}

function assemble(
  cells: LightCells,
  used: readonly number[],
  state: Float64Array,
  n: number,
  stepMm: number,
  cellWeights: Float64Array | null,
) {
  const size = n + 4;
  const matrix = new Float64Array(size * size);
  const right = new Float64Array(size);
  const residuals = new Float64Array(cells.light.length).fill(Number.NaN);
  const [weights, slopes, values] = [new Float64Array(4), new Float64Array(4), new Float64Array(8)];
  const places = new Int32Array(8);
  for (let m = 0; m < used.length; m++) {
    const k = used[m];
    const [x, y] = [cells.xMm[k], cells.yMm[k]];
    const [dx, dy] = [x - state[n], y - state[n + 1]];
    const r = Math.hypot(dx, dy);
    const { first, t } = findInterval(r / stepMm, n - 3);
    writeCubicWeights(Math.min(t, 1), weights);
    writeCubicSlopes(Math.min(t, 1), slopes);
    let [radial, slope] = [0, 0];
    for (let j = 0; j < 4; j++) {
      radial += weights[j] * state[first + j];
      slope += (slopes[j] * state[first + j]) / stepMm;
    }
    const plane = 1 + state[n + 2] * x + state[n + 3] * y;
    const residual = cells.light[k] - plane * radial;
    residuals[k] = residual;
    const weight = cellWeights === null ? 1 : cellWeights[k];
    if (weight === 0) continue;
    for (let j = 0; j < 4; j++) {
      places[j] = first + j;
      values[j] = plane * weights[j];
      places[4 + j] = n + j;
    }
    const towards = r > 0 ? (-plane * slope) / r : 0;
    values[4] = towards * dx;
    values[5] = towards * dy;
    values[6] = x * radial;
    values[7] = y * radial;
    for (let a = 0; a < 8; a++) {
      const scaled = weight * values[a];
      right[places[a]] += scaled * residual;
      for (let b = 0; b < 8; b++) matrix[places[a] * size + places[b]] += scaled * values[b];
    }
  }
  return { matrix, right, residuals };
}

/** Second differences of the curve held near zero, weakly: it decides only where cells are missing. */
function addSmoothing(
  matrix: Float64Array,
  right: Float64Array,
  state: Float64Array,
  n: number,
  size: number,
  cellsPerKnot: number,
): void {
  const strength = smoothing * cellsPerKnot;
  for (let k = 0; k + 2 < n; k++) {
    const bend = state[k] - 2 * state[k + 1] + state[k + 2];
    [1, -2, 1].forEach((a, i) => {
      right[k + i] -= strength * a * bend;
      [1, -2, 1].forEach((b, j) => {
        matrix[(k + i) * size + k + j] += strength * a * b;
      });
    });
  }
}

/** The fit's light at a point, mm. */
export function evaluateSymmetric(fit: SymmetricFit, x: number, y: number): number {
  const radial = evaluateRadial(fit.radial, fit.radialStepMm, Math.hypot(x - fit.centre.x, y - fit.centre.y));
  return (1 + fit.gradient.x * x + fit.gradient.y * y) * radial;
}
