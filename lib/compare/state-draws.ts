import { makeMeasured, makeUnknown, type Quantity, type Unit } from "../maths/quantity.ts";
import { quantileOfSorted, sortFinite } from "../maths/statistics.ts";
import type { Drawn } from "./draw-widths.ts";

/** A number with the interval that holds 95 % of its draws, scaled into `unit`. */
export function stateDrawn(drawn: Drawn | null, factor: number, unit: Unit, why: string): Quantity {
  if (drawn === null) return makeUnknown(unit, why);
  const sorted = sortFinite(drawn.draws);
  const [lo, hi] = [quantileOfSorted(sorted, 0.025), quantileOfSorted(sorted, 0.975)];
  // Where the best estimate stands at a bound, as no blur at all does, the middle of the draws says more.
  const value = drawn.value > 0 ? drawn.value : quantileOfSorted(sorted, 0.5);
  return makeMeasured(
    value * factor,
    unit,
    Math.min(lo, value) * factor,
    Math.max(hi, value) * factor,
    drawn.stars,
  );
}

/** What both sides' draws make of `b` times its factor minus `a` times its own. The two nights know nothing of each other. */
export function subtractDrawn(
  a: Drawn | null,
  b: Drawn | null,
  factors: { a: number; b: number },
  unit: Unit,
  why: string,
): Quantity {
  if (a === null || b === null) return makeUnknown(unit, why);
  const count = Math.min(a.draws.length, b.draws.length);
  const differences = sortFinite(
    Float64Array.from({ length: count }, (_, k) => b.draws[k] * factors.b - a.draws[k] * factors.a),
  );
  const value = b.value * factors.b - a.value * factors.a;
  return makeMeasured(
    value,
    unit,
    Math.min(value, quantileOfSorted(differences, 0.025)),
    Math.max(value, quantileOfSorted(differences, 0.975)),
    a.stars + b.stars,
  );
}
