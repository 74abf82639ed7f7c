import { evaluateFociShape, FAULTS, NIGHT, NIGHTS, prepareNight, TERM, TERMS } from "./field-model.ts";
import {
  countParameters,
  countSamples,
  type FieldProblem,
  invertErrors,
  listFaultShares,
  placeNight,
} from "./field-problem.ts";

/** Steps of the differences: blur diameters, um; squared diameter of coma, um2; ln(width) and e; an angle. */
const blurStep = 0.005;
const comaStep = 0.01;
const nightStep = 1e-5;
const turnStep = 1e-4;

const moved = new Float64Array(3);
const shape = new Float64Array(3);
const shares = new Float64Array(FAULTS.each);
const [byTangential, bySagittal, byTurn, byComa, byNight] = Array.from(
  { length: 5 },
  () => new Float64Array(3),
);

/**
 * Derivatives of the residuals, column by column (parameter by parameter). The shape answers to two blurs, a direction,
 * coma and the night's three terms; derivatives by these are differences over small steps, and those by the field's terms follow
 * by the chain rule. Terms that are held get zeros.
 */
export function computeJacobian(problem: FieldProblem, parameters: Float64Array): Float64Array[] {
  const total = 3 * countSamples(problem);
  const columns = Array.from({ length: countParameters(problem) }, () => new Float64Array(total));
  let at = 0;
  problem.frames.forEach((_, f) => {
    at = fillFrame(problem, parameters, f, columns, at);
  });
  for (let k = 0; k < TERMS; k++) if (problem.expected[k] === 0) columns[k].fill(0);
  if (problem.expectedDriftUm === 0) {
    for (let k = TERMS + NIGHT.focus; k < columns.length; k += NIGHTS) columns[k].fill(0);
  }
  return columns;
}

function prepareNights(problem: FieldProblem, p: Float64Array, own: number) {
  const nightOf = (term: number, step: number) => {
    const terms = [p[own], p[own + 1], p[own + 2]];
    terms[term] += step;
    return prepareNight(terms[0], terms[1], terms[2], problem.optics);
  };
  return {
    still: nightOf(0, 0),
    shaken: [NIGHT.lnWidth, NIGHT.e1, NIGHT.e2].map((term) => ({
      term,
      night: nightOf(term, nightStep),
    })),
  };
}

function fillFrame(
  problem: FieldProblem,
  p: Float64Array,
  f: number,
  columns: Float64Array[],
  start: number,
): number {
  const { samples, focusOffsetUm } = problem.frames[f];
  const { focalRatio } = problem.optics;
  const own = placeNight(f);
  const { still, shaken } = prepareNights(problem, p, own);
  const offset = p[TERM.defocus] + focusOffsetUm + p[own + NIGHT.focus];
  const withComa = problem.expected[TERM.coma] > 0;
  let at = start;
  for (let i = 0; i < samples.count.length; i++, at += 3) {
    const [x, y] = [samples.xMm[i], samples.yMm[i]];
    const [dx, dy] = [x - p[TERM.centreX], y - p[TERM.centreY]];
    const r2 = dx * dx + dy * dy;
    const middle = offset + p[TERM.tiltX] * x + p[TERM.tiltY] * y + p[TERM.curvature] * r2;
    const apart = p[TERM.astigmatism] * r2;
    const [t, s] = [(middle + apart) / focalRatio, (middle - apart) / focalRatio];
    const coma = p[TERM.coma] * r2;
    const [c2, s2] = r2 > 0 ? [(dx * dx - dy * dy) / r2, (2 * dx * dy) / r2] : [1, 0];
    evaluateFociShape(still, t, s, coma, c2, s2, shape, 0);
    const differ = (into: Float64Array, over: number): void => {
      for (let k = 0; k < 3; k++) into[k] = (moved[k] - shape[k]) / over;
    };
    evaluateFociShape(still, t + blurStep, s, coma, c2, s2, moved, 0);
    differ(byTangential, blurStep * focalRatio);
    evaluateFociShape(still, t, s + blurStep, coma, c2, s2, moved, 0);
    differ(bySagittal, blurStep * focalRatio);
    // The pair turns by twice the angle of the radius.
    evaluateFociShape(still, t, s, coma, c2 - 2 * turnStep * s2, s2 + 2 * turnStep * c2, moved, 0);
    differ(byTurn, turnStep);
    const [overWidth, overE] = invertErrors(problem, samples, i);
    const toE = -overE * (1 + p[TERM.gain]);
    const add = (k: number, by: Float64Array, factor: number): void => {
      const column = columns[k];
      column[at] -= by[0] * factor * overWidth;
      column[at + 1] += by[1] * factor * toE;
      column[at + 2] += by[2] * factor * toE;
    };
    const addHeights = (k: number, mean: number, half: number): void => {
      add(k, byTangential, mean + half);
      add(k, bySagittal, mean - half);
    };
    addHeights(TERM.defocus, 1, 0);
    addHeights(own + NIGHT.focus, 1, 0);
    addHeights(TERM.tiltX, x, 0);
    addHeights(TERM.tiltY, y, 0);
    addHeights(TERM.curvature, r2, 0);
    addHeights(TERM.astigmatism, 0, r2);
    const overR2 = r2 > 1e-9 ? 1 / r2 : 0;
    addHeights(TERM.centreX, -2 * dx * p[TERM.curvature], -2 * dx * p[TERM.astigmatism]);
    addHeights(TERM.centreY, -2 * dy * p[TERM.curvature], -2 * dy * p[TERM.astigmatism]);
    add(TERM.centreX, byTurn, dy * overR2);
    add(TERM.centreY, byTurn, -dx * overR2);
    if (withComa) {
      evaluateFociShape(still, t, s, coma + comaStep, c2, s2, moved, 0);
      differ(byComa, comaStep);
      add(TERM.coma, byComa, r2);
      add(TERM.centreX, byComa, -2 * dx * p[TERM.coma]);
      add(TERM.centreY, byComa, -2 * dy * p[TERM.coma]);
    }
    for (const { term, night } of shaken) {
      evaluateFociShape(night, t, s, coma, c2, s2, moved, 0);
      differ(byNight, nightStep);
      add(own + term, byNight, 1);
    }
    writeFaults(columns, at, x / problem.halfDiagonalMm, y / problem.halfDiagonalMm, overWidth, overE);
  }
  return at;
}

/** Derivatives by the faults of the measured shapes; `shape` holds the true one. */
function writeFaults(
  columns: Float64Array[],
  at: number,
  x: number,
  y: number,
  overWidth: number,
  overE: number,
): void {
  columns[TERM.gain][at + 1] = -overE * shape[1];
  columns[TERM.gain][at + 2] = -overE * shape[2];
  listFaultShares(x, y, shares);
  for (let part = 0, k: number = FAULTS.first; part < 3; part++) {
    const over = part === 0 ? overWidth : overE;
    for (let share = 0; share < FAULTS.each; share++, k++) columns[k][at + part] = -over * shares[share];
  }
}
