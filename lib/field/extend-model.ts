import { NIGHT, NIGHTS, TERM, TERMS } from "./field-model.ts";
import type { FieldProblem } from "./field-problem.ts";
import { type FittedPoint, refineFit } from "./refine-fit.ts";

/** What is expected of coma where it is let in: the squared diameter of its blur at the corner, one sigma, um2 (chosen). */
const comaAtCornerUm2 = 400;
/** Where the descent with coma starts, as a share of that: at zero the descent would be at the edge of what is allowed. */
const comaStart = 0.05;
/** Coma is searched for where the mean elongation along the radius beyond this height (over the half-diagonal) is so large. */
const outerHeight = 0.5;
const leastRadial = 0.015;
/**
 * Cost that coma must save, priors included, to be let in. By chance one term more saves 10 in 1 of 600 fits (chi-square,
 * one degree of freedom); what the model leaves out asks for more than chance (chosen: no fit of the 120 stored and drawn
 * tables without coma saved so much).
 */
const comaMustSave = 14;

/** How far one frame's focus may lie from the others' in a test, one sigma, where the data ask for it, um (chosen). */
const driftExpectedUm = 15;
const leastDriftUm = 2;
const driftPasses = 8;

/**
 * The problem with the terms that the data ask for beyond the common ones: coma, where it saves more than chance and the
 * model's own faults do; and a focus of each frame's own, where several frames do not share one. The likelihood-ratio
 * test (Wilks 1938) with its limit raised; what is not asked for stays held at zero.
 *
 * Coma has valleys of its own: a tilt of 60 um across beside coma that makes the corners 0.1 elliptical was found as 5 um,
 * by curvature and astigmatism, and no descent from there led out. `search` finds the valleys of a problem; it takes as long as
 * the first search, and is asked where stars far out are long along the radius, as coma makes them.
 *
 * @returns the problem and the points of it that were found on the way
 */
export function extendProblem(
  problem: FieldProblem,
  best: FittedPoint,
  search: (problem: FieldProblem) => FittedPoint[],
): { problem: FieldProblem; tried: FittedPoint[] } {
  const withDrift = admitDrift(problem, best);
  const start = withDrift === problem ? best : refineFit(withDrift, best.parameters, 10);
  return admitComa(withDrift, start, search);
}

/** Where the descent of an extended problem starts from a point of the plain one. */
export function startExtended(problem: FieldProblem, point: FittedPoint): Float64Array {
  const start = Float64Array.from(point.parameters);
  start[TERM.coma] = Math.max(start[TERM.coma], comaStart * problem.expected[TERM.coma]);
  return start;
}

function admitComa(
  problem: FieldProblem,
  best: FittedPoint,
  search: (problem: FieldProblem) => FittedPoint[],
): { problem: FieldProblem; tried: FittedPoint[] } {
  const expected = Float64Array.from(problem.expected);
  expected[TERM.coma] = comaAtCornerUm2 / problem.halfDiagonalMm ** 2;
  const extended = { ...problem, expected };
  const tried = [refineFit(extended, startExtended(extended, best), 12)];
  const saves = () => best.cost - Math.min(...tried.map(({ cost }) => cost)) > comaMustSave;
  if (saves() || measureRadial(problem) > leastRadial) tried.push(...search(extended));
  return saves() ? { problem: extended, tried } : { problem, tried: [] };
}

/** Mean elongation along the radius of the outer samples of all frames. */
function measureRadial(problem: FieldProblem): number {
  let [sum, count] = [0, 0];
  for (const { samples } of problem.frames) {
    for (let i = 0; i < samples.count.length; i++) {
      const [x, y] = [samples.xMm[i], samples.yMm[i]];
      const r2 = x * x + y * y;
      if (r2 < (outerHeight * problem.halfDiagonalMm) ** 2) continue;
      sum += (samples.shape[3 * i + 1] * (x * x - y * y) + samples.shape[3 * i + 2] * 2 * x * y) / r2;
      count++;
    }
  }
  return count === 0 ? 0 : sum / count;
}

/** Frames that share one focus save about one each by chance: the limit lies four standard deviations above that. */
function admitDrift(problem: FieldProblem, best: FittedPoint): FieldProblem {
  const frames = problem.frames.length;
  if (frames < 2) return problem;
  const tried = refineFit({ ...problem, expectedDriftUm: driftExpectedUm }, best.parameters, driftPasses);
  if (best.cost - tried.cost < frames + 4 * Math.sqrt(2 * frames)) return problem;
  let squares = 0;
  for (let k = TERMS + NIGHT.focus; k < tried.parameters.length; k += NIGHTS) {
    squares += tried.parameters[k] ** 2;
  }
  return { ...problem, expectedDriftUm: Math.max(leastDriftUm, Math.sqrt(squares / frames)) };
}
