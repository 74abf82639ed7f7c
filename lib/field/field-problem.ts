import {
  type BlurOptics,
  evaluateShape,
  FAULTS,
  NIGHT,
  NIGHTS,
  prepareNight,
  type ShapeSamples,
  TERM,
  TERMS,
} from "./field-model.ts";

/** Samples of one frame and how far its sensor was moved away from the telescope, um. */
export interface FrameSamples {
  samples: ShapeSamples;
  focusOffsetUm: number;
}

/** All that a fit needs, apart from where it starts. */
export interface FieldProblem {
  frames: FrameSamples[];
  optics: BlurOptics;
  halfDiagonalMm: number;
  /** One-sigma widths of what is expected of the shared terms before any star is seen, about zero; 0 holds a term there. */
  expected: Float64Array;
  /** The same of each frame's focus about that of the frames together, um; 0 where one focus is enough for all. */
  expectedDriftUm: number;
  /** Errors of the model itself, added in quadrature to those of the samples; and the factors the residuals ask for. */
  modelError: { lnWidth: number; e: number };
  errorFactor: { lnWidth: number; e: number };
}

export function countParameters(problem: FieldProblem): number {
  return TERMS + NIGHTS * problem.frames.length;
}

export function countSamples(problem: FieldProblem): number {
  return problem.frames.reduce((sum, frame) => sum + frame.samples.count.length, 0);
}

/** Night's terms of frame f. */
export function placeNight(frame: number): number {
  return TERMS + NIGHTS * frame;
}

/** Observed minus modelled over the error, three numbers a sample, frame after frame. */
export function computeResiduals(problem: FieldProblem, parameters: Float64Array): Float64Array {
  const residuals = new Float64Array(3 * countSamples(problem));
  let at = 0;
  problem.frames.forEach((_, f) => {
    at = fillFrame(problem, parameters, f, residuals, at);
  });
  return residuals;
}

const modelled = new Float64Array(3);

/** Residuals of one frame from place `at` on; yields the place after them. */
function fillFrame(
  problem: FieldProblem,
  parameters: Float64Array,
  f: number,
  into: Float64Array,
  at: number,
): number {
  const { samples, focusOffsetUm } = problem.frames[f];
  const own = placeNight(f);
  const night = prepareNight(
    parameters[own + NIGHT.lnWidth],
    parameters[own + NIGHT.e1],
    parameters[own + NIGHT.e2],
    problem.optics,
  );
  const offset = focusOffsetUm + parameters[own + NIGHT.focus];
  const { focalRatio } = problem.optics;
  const n = samples.count.length;
  for (let i = 0; i < n; i++) {
    const [x, y] = [samples.xMm[i], samples.yMm[i]];
    evaluateShape(parameters, night, offset, focalRatio, x, y, modelled, 0);
    addFaults(parameters, x / problem.halfDiagonalMm, y / problem.halfDiagonalMm, modelled);
    const [overWidth, overE] = invertErrors(problem, samples, i);
    into[at] = (samples.shape[3 * i] - modelled[0]) * overWidth;
    into[at + 1] = (samples.shape[3 * i + 1] - modelled[1]) * overE;
    into[at + 2] = (samples.shape[3 * i + 2] - modelled[2]) * overE;
    at += 3;
  }
  return at;
}

const shares = new Float64Array(FAULTS.each);

/** What a unit of each smooth fault adds at a place; x and y over the half-diagonal. */
export function listFaultShares(x: number, y: number, into: Float64Array): void {
  into[0] = x;
  into[1] = y;
  into[2] = x * x + y * y;
  into[3] = x * x - y * y;
  into[4] = 2 * x * y;
}

/** Turns a true shape into the one that is measured, faults and all; x and y over the half-diagonal. */
function addFaults(parameters: ArrayLike<number>, x: number, y: number, shape: Float64Array): void {
  const gain = 1 + parameters[TERM.gain];
  shape[1] *= gain;
  shape[2] *= gain;
  listFaultShares(x, y, shares);
  for (let part = 0, k: number = FAULTS.first; part < 3; part++) {
    for (let share = 0; share < FAULTS.each; share++, k++) shape[part] += parameters[k] * shares[share];
  }
}

const overErrors: [number, number] = [0, 0];

/** Reciprocals of a sample's errors of ln(width) and of e, those of the model in them. */
export function invertErrors(problem: FieldProblem, samples: ShapeSamples, i: number): [number, number] {
  const { modelError, errorFactor } = problem;
  const [errorWidth, errorE] = [samples.error[2 * i], samples.error[2 * i + 1]];
  overErrors[0] =
    1 / (errorFactor.lnWidth * Math.sqrt(errorWidth * errorWidth + modelError.lnWidth * modelError.lnWidth));
  overErrors[1] = 1 / (errorFactor.e * Math.sqrt(errorE * errorE + modelError.e * modelError.e));
  return overErrors;
}
