import { makeMeasured, makeUnknown, type Quantity, type Unit, type Working } from "../maths/quantity.ts";

/** Halves of the interval below and above, relative to the value. */
function readRelative(quantity: Quantity): { down: number; up: number } | null {
  if (quantity.value === null || quantity.value === 0) return null;
  return { down: 1 - quantity.lo / quantity.value, up: quantity.hi / quantity.value - 1 };
}

/**
 * top / bottom with its interval: relative intervals of independent numbers add in quadrature (JCGM 100:2008, 5.1.6),
 * good for intervals of some percent. `n` is the smaller of the two that carry an interval. Both must be above 0.
 */
export function divideQuantities(
  top: Quantity,
  bottom: Quantity,
  unit: Unit,
  working: Working = {},
): Quantity {
  if (top.value === null) return makeUnknown(unit, top.why);
  if (bottom.value === null) return makeUnknown(unit, bottom.why);
  const [above, below] = [readRelative(top), readRelative(bottom)];
  if (above === null || below === null) return makeUnknown(unit, "A ratio to nothing is no number.");
  const value = top.value / bottom.value;
  const down = Math.hypot(above.down, below.up);
  const up = Math.hypot(above.up, below.down);
  return makeMeasured(value, unit, value * (1 - down), value * (1 + up), countBoth(top, bottom), working);
}

/** first times second, as `divideQuantities`. */
export function multiplyQuantities(
  first: Quantity,
  second: Quantity,
  unit: Unit,
  working: Working = {},
): Quantity {
  if (first.value === null) return makeUnknown(unit, first.why);
  if (second.value === null) return makeUnknown(unit, second.why);
  const [one, other] = [readRelative(first), readRelative(second)];
  if (one === null || other === null) return makeUnknown(unit, "A product with nothing is no number.");
  const value = first.value * second.value;
  const down = Math.hypot(one.down, other.down);
  const up = Math.hypot(one.up, other.up);
  return makeMeasured(value, unit, value * (1 - down), value * (1 + up), countBoth(first, second), working);
}

function countBoth(first: Quantity, second: Quantity): number {
  const counts = [first, second].flatMap((one) => (one.value === null || one.lo === one.hi ? [] : [one.n]));
  return counts.length === 0 ? 1 : Math.min(...counts);
}
