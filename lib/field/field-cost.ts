import { FAULTS, NIGHT, NIGHTS, TERM, TERMS } from "./field-model.ts";
import { countParameters, type FieldProblem } from "./field-problem.ts";

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

/** Terms of which a normal law is expected. */
const normalTerms = [
  TERM.defocus,
  TERM.curvature,
  TERM.astigmatism,
  TERM.coma,
  TERM.gain,
  ...Array.from({ length: TERMS - FAULTS.first }, (_, k) => FAULTS.first + k),
];

/**
 * Pull of what is expected on each parameter: cost is about pull times the parameter squared; NaN for one that is held,
 * 0 for one of which nothing is expected.
 */
export function listPulls(problem: FieldProblem, parameters: Float64Array): Float64Array {
  const { expected, expectedDriftUm } = problem;
  const pulls = new Float64Array(countParameters(problem));
  for (const k of normalTerms) pulls[k] = expected[k] > 0 ? 1 / expected[k] ** 2 : Number.NaN;
  for (const [x, y] of heavyPairs) {
    const distance2 = parameters[x] ** 2 + parameters[y] ** 2;
    pulls[x] = pulls[y] = (pairFreedom + 2) / (pairFreedom * expected[x] ** 2 + distance2);
  }
  for (let k = TERMS + NIGHT.focus; k < pulls.length; k += NIGHTS) {
    pulls[k] = expectedDriftUm > 0 ? 1 / expectedDriftUm ** 2 : Number.NaN;
  }
  return pulls;
}

/** Robust sum of squares of residuals and of the departures of the parameters from what is expected. */
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
  const { expected, expectedDriftUm } = problem;
  for (const k of normalTerms) {
    if (expected[k] > 0) cost += (parameters[k] / expected[k]) ** 2;
  }
  for (const [x, y] of heavyPairs) {
    const distance2 = parameters[x] ** 2 + parameters[y] ** 2;
    cost += (pairFreedom + 2) * Math.log1p(distance2 / (pairFreedom * expected[x] ** 2));
  }
  if (expectedDriftUm > 0) {
    for (let k = TERMS + NIGHT.focus; k < parameters.length; k += NIGHTS) {
      cost += (parameters[k] / expectedDriftUm) ** 2;
    }
  }
  return cost;
}
