import { makeMeasured, makeUnknown, type Quantity, type Unit } from "../maths/quantity.ts";
import { quantileOfSorted } from "../maths/statistics.ts";

/** 95 % of a normal pair lie within this squared distance: chi-square with two degrees of freedom, -2 ln 0.05. */
const pairLimit = -2 * Math.log(0.05);

/** A number of the best field with the interval that holds 95 % of the draws' numbers. */
export function stateNumber(
  best: Float64Array,
  draws: readonly Float64Array[],
  read: (field: Float64Array) => number,
  unit: Unit,
  stars: number,
): Quantity {
  const value = read(best);
  const sorted = Float64Array.from(draws, read).sort();
  return makeMeasured(
    value,
    unit,
    Math.min(value, quantileOfSorted(sorted, 0.025)),
    Math.max(value, quantileOfSorted(sorted, 0.975)),
    stars,
  );
}

/** Whether zero lies within the ellipse that holds 95 % of the draws of a pair of numbers, taken as normal. */
export function includesZero(
  best: Float64Array,
  draws: readonly Float64Array[],
  read: (field: Float64Array) => [number, number],
): boolean {
  const [a, b] = read(best);
  let [aa, bb, ab] = [0, 0, 0];
  for (const draw of draws) {
    const [u, v] = read(draw);
    aa += (u - a) ** 2 / draws.length;
    bb += (v - b) ** 2 / draws.length;
    ab += ((u - a) * (v - b)) / draws.length;
  }
  const determinant = aa * bb - ab * ab;
  if (!(determinant > 0)) return a === 0 && b === 0;
  return (bb * a * a - 2 * ab * a * b + aa * b * b) / determinant <= pairLimit;
}

/** Size of a pair, with an interval that starts at zero where the draws do not exclude it. */
export function stateSize(
  best: Float64Array,
  draws: readonly Float64Array[],
  read: (field: Float64Array) => [number, number],
  factor: number,
  unit: Unit,
  stars: number,
): Quantity {
  const size = stateNumber(best, draws, (field) => Math.hypot(...read(field)) * factor, unit, stars);
  if (size.value === null || !includesZero(best, draws, read)) return size;
  return { ...size, lo: 0 };
}

/**
 * Direction of a pair in degrees, -180 to 180 (spin 1) or its long axis 0 to 180 (spin 2), with an interval about it;
 * unknown where the pair is not told from zero.
 */
export function stateDirection(
  best: Float64Array,
  draws: readonly Float64Array[],
  read: (field: Float64Array) => [number, number],
  spin: 1 | 2,
  why: string,
  stars: number,
): Quantity {
  if (includesZero(best, draws, read)) return makeUnknown("deg", why);
  const [a, b] = read(best);
  const away = Float64Array.from(draws, (draw) => {
    const [u, v] = read(draw);
    return Math.atan2(a * v - b * u, a * u + b * v);
  }).sort();
  const toDegrees = 180 / Math.PI / spin;
  const angle = Math.atan2(b, a) * toDegrees;
  const value = spin === 2 && angle < 0 ? angle + 180 : angle;
  return makeMeasured(
    value,
    "deg",
    value + Math.min(0, quantileOfSorted(away, 0.025) * toDegrees),
    value + Math.max(0, quantileOfSorted(away, 0.975) * toDegrees),
    stars,
  );
}
