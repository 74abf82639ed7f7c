import { evaluateFoci, TERM } from "../field/field-model.ts";
import { negateField } from "../field/search-valleys.ts";
import type { KnownQuantity, Quantity } from "../maths/quantity.ts";
import { makeNormalRandom, makeRandom } from "../maths/random.ts";
import type { ComparisonSide } from "./comparison-side.ts";

/** A number with its one-sigma error. */
interface Told {
  value: number;
  sigma: number;
}

/** What a focus sweep of the same night tells of the focal surface under which the frames in focus were taken. */
export interface SweptField {
  terms: { term: number; told: Told }[];
  /** Height of the focal surface at the sensor's centre when the frames in focus were taken, um; null where not on record. */
  focus: Told | null;
}

/** Half of a 95 % interval in standard errors. */
const reachOfInterval = 1.959964;
/** One sigma by which a draw tube driven by a motor misses a position it shows, um: common practice, no source. */
const repeatUm = 5;

function isKnown(quantity: Quantity): quantity is KnownQuantity {
  return quantity.value !== null;
}

function toTold({ value, lo, hi }: KnownQuantity): Told {
  return { value, sigma: (hi - lo) / 2 / reachOfInterval };
}

/** Focuser's position of the frames in focus, steps, where all their headers state it by the keyword that the sweep goes by. */
function readPosition({ test, measurement }: ComparisonSide): number | null {
  const asked = test?.record.sweep?.positions;
  if (typeof asked !== "string" || !/^(header:)?(FOCUSPOS|FOCPOS)$/.test(asked)) return null;
  const offsets = test?.record.focusOffsetUm;
  const positions = (measurement?.frames ?? [])
    .filter((_, k) => (typeof offsets === "object" ? offsets[k] === 0 : true))
    .map(({ header }) => header.focuserPosition);
  const [first] = positions;
  return first !== undefined && positions.every((position) => position === first) ? first : null;
}

/** Null where the test has no sweep that could be fitted. */
export function readSweptField(side: ComparisonSide): SweptField | null {
  const sweep = side.results?.sweep ?? null;
  const asked = side.test?.record.sweep ?? null;
  if (sweep === null || asked === null) return null;
  const terms = (["tiltX", "tiltY", "curvature", "astigmatism"] as const).flatMap((name) => {
    const quantity = sweep[name];
    return isKnown(quantity) && quantity.hi > quantity.lo
      ? [{ term: TERM[name], told: toTold(quantity) }]
      : [];
  });
  const position = readPosition(side);
  const { defocus, bestPosition } = sweep;
  if (position === null || !isKnown(defocus) || !isKnown(bestPosition)) return { terms, focus: null };
  // A sensor farther out than the best position has the focal surface in front of it, towards the telescope.
  const value = defocus.value + position * asked.umPerStep - bestPosition.value;
  const sigma = Math.hypot(toTold(defocus).sigma, toTold(bestPosition).sigma, repeatUm);
  return { terms, focus: { value, sigma } };
}

/** How far a field lies from what the sweep tells, in squares of errors; the field's own spread is `spreads`. */
function measureMisfit(field: Float64Array, { terms }: SweptField, spreads: readonly number[]): number {
  return terms.reduce(
    (sum, { term, told }, k) => sum + (field[term] - told.value) ** 2 / (told.sigma ** 2 + spreads[k] ** 2),
    0,
  );
}

function measureMean(fields: readonly Float64Array[], term: number): number {
  return fields.reduce((sum, field) => sum + field[term], 0) / fields.length;
}

/**
 * Draws of a field as they are once a sweep has told some of its terms: each draw is moved towards what the sweep tells, its
 * other terms along with it as the draws have them bound together (perturbed observations, taken one after the other;
 * Evensen 1994, J. Geophys. Res. 99:10143, from memory). For normal draws that is the product of both evidences. Heights
 * get the sign that the sweep has.
 */
export function joinSweep(draws: readonly Float64Array[], swept: SweptField, seed: number): Float64Array[] {
  const normal = makeNormalRandom(makeRandom(seed));
  const spreadOf = (fields: readonly Float64Array[], term: number) => {
    const middle = measureMean(fields, term);
    return Math.sqrt(fields.reduce((sum, field) => sum + (field[term] - middle) ** 2, 0) / fields.length);
  };
  // The sign of all draws alike: by the mean, where the draws themselves are of one sign.
  const spreads = swept.terms.map(({ term }) => spreadOf(draws, term));
  let joined = draws.map((draw) => {
    const turned = negateField(draw);
    return measureMisfit(turned, swept, spreads) < measureMisfit(draw, swept, spreads)
      ? turned
      : draw.slice();
  });
  for (const { term, told } of swept.terms) {
    const middle = measureMean(joined, term);
    const size = joined[0].length;
    const shared = new Float64Array(size);
    for (let i = 0; i < size; i++) {
      const own = measureMean(joined, i);
      shared[i] = joined.reduce((sum, f) => sum + (f[i] - own) * (f[term] - middle), 0) / joined.length;
    }
    const total = shared[term] + told.sigma ** 2;
    joined = joined.map((field) => {
      const gap = (told.value + told.sigma * normal() - field[term]) / total;
      return field.map((value, i) => value + shared[i] * gap);
    });
  }
  return joined;
}

/** Squared distance of a field's height at the sensor's centre from the one that the sweep tells, in its errors. */
export function measureFocusMisfit(field: Float64Array, focusOffsetUm: number, focus: Told): number {
  const { tangentialUm, sagittalUm } = evaluateFoci(field, focusOffsetUm, 0, 0);
  return (((tangentialUm + sagittalUm) / 2 - focus.value) / focus.sigma) ** 2;
}
