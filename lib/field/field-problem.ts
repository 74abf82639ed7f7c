import {
  type BlurOptics,
  evaluateShape,
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
  const { modelError, errorFactor, optics } = problem;
  const n = samples.count.length;
  for (let i = 0; i < n; i++) {
    evaluateShape(
      parameters,
      night,
      focusOffsetUm,
      optics.focalRatio,
      samples.xMm[i],
      samples.yMm[i],
      modelled,
      0,
    );
    const [errorWidth, errorE] = [samples.error[2 * i], samples.error[2 * i + 1]];
    const overWidth =
      1 /
      (errorFactor.lnWidth * Math.sqrt(errorWidth * errorWidth + modelError.lnWidth * modelError.lnWidth));
    const overE = 1 / (errorFactor.e * Math.sqrt(errorE * errorE + modelError.e * modelError.e));
    into[at] = (samples.shape[3 * i] - modelled[0]) * overWidth;
    into[at + 1] = (samples.shape[3 * i + 1] - modelled[1]) * overE;
    into[at + 2] = (samples.shape[3 * i + 2] - modelled[2]) * overE;
    at += 3;
  }
  return at;
}

/** Steps for the derivatives: blurs change by a small part of a micrometre at the sensor's corner. */
export function listSteps(problem: FieldProblem): Float64Array {
  const r = problem.halfDiagonalMm;
  const blurUm = 0.05;
  const steps = new Float64Array(countParameters(problem)).fill(1e-4);
  steps[TERM.defocus] = blurUm;
  steps[TERM.tiltX] = steps[TERM.tiltY] = blurUm / r;
  steps[TERM.curvature] = steps[TERM.astigmatism] = blurUm / (r * r);
  steps[TERM.centreX] = steps[TERM.centreY] = 0.002 * r;
  steps[TERM.coma] = blurUm / (r * r);
  return steps;
}

/**
 * Derivatives of the residuals by differences, column by column (parameter by parameter). Terms that are held get
 * zeros. `central` takes steps to both sides, twice the work.
 */
export function computeJacobian(
  problem: FieldProblem,
  parameters: Float64Array,
  residuals: Float64Array,
  central: boolean,
): Float64Array[] {
  const steps = listSteps(problem);
  const starts: number[] = [];
  let total = 0;
  for (const { samples } of problem.frames) {
    starts.push(total);
    total += 3 * samples.count.length;
  }
  const moved = Float64Array.from(parameters);
  return Array.from(parameters, (value, k) => {
    const column = new Float64Array(total);
    if (k < TERMS && problem.expected[k] === 0) return column;
    const frames = k < TERMS ? problem.frames.keys() : [Math.floor((k - TERMS) / NIGHTS)];
    const before = central ? new Float64Array(total) : residuals;
    for (const f of frames) {
      moved[k] = value + steps[k];
      const end = fillFrame(problem, moved, f, column, starts[f]);
      if (central) {
        moved[k] = value - steps[k];
        fillFrame(problem, moved, f, before, starts[f]);
      }
      const over = 1 / ((central ? 2 : 1) * steps[k]);
      for (let i = starts[f]; i < end; i++) column[i] = (column[i] - before[i]) * over;
    }
    moved[k] = value;
    return column;
  });
}

/**
 * Where a sample's three residuals together are counted as far off: 95 % of normal ones lie within (chi-square with
 * three degrees of freedom). Beyond, the cost grows in proportion to the distance (Huber 1981), and past `dropLimit` a
 * sample no longer pulls at all.
 */
const huberLimit = 2.8;
const dropLimit = 12;

/** Weight of each sample from its residuals. */
export function weighSamples(residuals: Float64Array): Float64Array {
  const weights = new Float64Array(residuals.length / 3);
  for (let i = 0; i < weights.length; i++) {
    const size = Math.hypot(residuals[3 * i], residuals[3 * i + 1], residuals[3 * i + 2]);
    weights[i] = size <= huberLimit ? 1 : size > dropLimit ? 0 : huberLimit / size;
  }
  return weights;
}

/**
 * Centre and tilt are expected near zero, but not by a normal law: most trains are centred and square to within little, a
 * few are not, and then the stars should have their way. A bivariate Student law with three degrees of freedom does both.
 */
const pairFreedom = 3;
const heavyPairs = [
  [TERM.centreX, TERM.centreY],
  [TERM.tiltX, TERM.tiltY],
] as const;

/** Pull of what is expected on each shared term: cost is about pull times the term squared; NaN for a term that is held. */
export function listPulls(problem: FieldProblem, parameters: Float64Array): Float64Array {
  const { expected } = problem;
  const pulls = expected.map((width) => (width > 0 ? 1 / (width * width) : Number.NaN));
  for (const [x, y] of heavyPairs) {
    const distance2 = parameters[x] ** 2 + parameters[y] ** 2;
    pulls[x] = pulls[y] = (pairFreedom + 2) / (pairFreedom * expected[x] ** 2 + distance2);
  }
  return pulls;
}

/** Robust sum of squares of residuals and of the departures of the shared terms from what is expected. */
export function computeCost(
  problem: FieldProblem,
  parameters: Float64Array,
  residuals: Float64Array,
): number {
  let cost = 0;
  for (let i = 0; i < residuals.length; i += 3) {
    const square = residuals[i] ** 2 + residuals[i + 1] ** 2 + residuals[i + 2] ** 2;
    if (square <= huberLimit * huberLimit) cost += square;
    else cost += huberLimit * (2 * Math.min(Math.sqrt(square), dropLimit) - huberLimit);
  }
  const { expected } = problem;
  for (const k of [TERM.defocus, TERM.curvature, TERM.astigmatism, TERM.coma]) {
    if (expected[k] > 0) cost += (parameters[k] / expected[k]) ** 2;
  }
  for (const [x, y] of heavyPairs) {
    const distance2 = parameters[x] ** 2 + parameters[y] ** 2;
    cost += (pairFreedom + 2) * Math.log1p(distance2 / (pairFreedom * expected[x] ** 2));
  }
  return cost;
}
