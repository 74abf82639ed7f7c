import { makeRandom } from "../maths/random.ts";
import { NIGHT, NIGHTS, TERM, TERMS } from "./field-model.ts";
import { countSamples, type FieldProblem } from "./field-problem.ts";
import { coarsenProblem, findStarts } from "./find-starts.ts";
import { type FittedPoint, refineFit } from "./refine-fit.ts";

/** One valley of the cost: a field that agrees with the stars. */
export interface FieldMode {
  point: FittedPoint;
  /** Share of belief; the modes' shares sum to 1. */
  share: number;
}

/** The field with all heights negated: the same frame, were it alone. */
export function negateField(parameters: Float64Array): Float64Array {
  const negated = Float64Array.from(parameters);
  for (const term of [TERM.defocus, TERM.tiltX, TERM.tiltY, TERM.curvature, TERM.astigmatism]) {
    negated[term] = -parameters[term];
  }
  for (let k = TERMS + NIGHT.focus; k < negated.length; k += NIGHTS) negated[k] = -parameters[k];
  return negated;
}

/**
 * Fields that give nearly the same frame as one that agrees with the stars: curvature and astigmatism exchanged (as where
 * the centre is in focus and nothing is tilted), the tilt left out, the centre's focus on the other side.
 */
function listRivals(parameters: Float64Array): Float64Array[] {
  const change = (from: Float64Array, changes: readonly [number, number][]): Float64Array => {
    const changed = Float64Array.from(from);
    for (const [term, value] of changes) changed[term] = value;
    return changed;
  };
  const level = change(parameters, [
    [TERM.tiltX, 0],
    [TERM.tiltY, 0],
  ]);
  return [parameters, level].flatMap((field) => {
    const exchanged = change(field, [
      [TERM.curvature, field[TERM.astigmatism]],
      [TERM.astigmatism, field[TERM.curvature]],
    ]);
    return [field, exchanged].flatMap((one) => [one, change(one, [[TERM.defocus, -one[TERM.defocus]]])]);
  });
}

/** Points that are the same valley differ by less than this in cost and in the blur at the corner. */
function isSameValley(a: FittedPoint, b: FittedPoint, r: number): boolean {
  const [p, q] = [a.parameters, b.parameters];
  const apart =
    Math.abs(p[TERM.defocus] - q[TERM.defocus]) +
    Math.hypot(p[TERM.tiltX] - q[TERM.tiltX], p[TERM.tiltY] - q[TERM.tiltY]) * r +
    (Math.abs(p[TERM.curvature] - q[TERM.curvature]) + Math.abs(p[TERM.astigmatism] - q[TERM.astigmatism])) *
      r ** 2;
  return Math.abs(a.cost - b.cost) < 1 && apart < 10;
}

/** Points within `within` of the least cost, least first, one for each valley. */
export function keepValleys(points: FittedPoint[], r: number, within: number): FittedPoint[] {
  const kept: FittedPoint[] = [];
  for (const point of [...points].sort((a, b) => a.cost - b.cost)) {
    if (point.cost > points.reduce((least, other) => Math.min(least, other.cost), Infinity) + within) break;
    if (!kept.some((other) => isSameValley(point, other, r))) kept.push(point);
  }
  return kept;
}

/** Without offsets only the relative sign is told: put all valleys on the side where astigmatism is above zero. */
export function foldSign(point: FittedPoint, hasOffsets: boolean): FittedPoint {
  if (hasOffsets || point.parameters[TERM.astigmatism] >= 0) return point;
  return { ...point, parameters: negateField(point.parameters) };
}

/**
 * Valleys of the rough search that are refined on all samples: with few stars many valleys agree with them, with many
 * stars few do, and refining takes longer.
 */
const startsRefined = { ofFew: 16, ofMany: 6 };
const fewSamples = 200;

/** How far above the best a start may still be after its first steps, to be followed to its end. */
const promisingCost = 60;

/** Takes each start a few steps down, and only those that come near the best all the way. */
function refinePromising(problem: FieldProblem, starts: Float64Array[], bestKnown = Infinity): FittedPoint[] {
  const halfway = starts.map((start) => refineFit(problem, start, 5));
  const least = Math.min(bestKnown, ...halfway.map((point) => point.cost));
  return halfway
    .filter((point) => point.cost < least + promisingCost)
    .map((point) => refineFit(problem, point.parameters, 20));
}

/** All valleys of a problem, best first. */
export function searchValleys(problem: FieldProblem, seed: number, hasOffsets: boolean): FittedPoint[] {
  const coarse = coarsenProblem(problem);
  const r = problem.halfDiagonalMm;
  const rough = findStarts(problem, makeRandom(seed)).map((start) => refineFit(coarse, start, 12, 0.05));
  const wanted = countSamples(problem) < fewSamples ? startsRefined.ofFew : startsRefined.ofMany;
  const starts = keepValleys(rough, r, 60).slice(0, wanted);
  const refined = refinePromising(
    problem,
    starts.map((start) => start.parameters),
  );
  const best = refined.reduce((least, point) => (point.cost < least.cost ? point : least));
  const rivals = listRivals(best.parameters).slice(1);
  if (hasOffsets) rivals.push(...listRivals(best.parameters).map(negateField));
  // A rival that starts far worse on few samples would end in a valley already known, or in none.
  const rough2 = rivals.map((start) => refineFit(coarse, start, 8, 0.05));
  const least = Math.min(...rough.map((point) => point.cost));
  const promising = rough2.filter((point) => point.cost < least + 40).map((point) => point.parameters);
  refined.push(...refinePromising(problem, promising, best.cost));
  return keepValleys(
    refined.map((point) => foldSign(point, hasOffsets)),
    r,
    Infinity,
  );
}

/**
 * Belief in each valley by its likelihood, best first. (Weighing by the valley's volume too, by Laplace's approximation,
 * was tried: where a tilt is near zero the cost is not a parabola, and the volume misled.)
 */
export function weighModes(valleys: readonly FittedPoint[]): FieldMode[] {
  const sorted = [...valleys].sort((a, b) => a.cost - b.cost);
  const likelihoods = sorted.map((point) => Math.exp((sorted[0].cost - point.cost) / 2));
  const total = likelihoods.reduce((sum, value) => sum + value, 0);
  return sorted.map((point, i) => ({ point, share: likelihoods[i] / total }));
}
