import { makeMeasured, makeUnknown, type Quantity, type Unit } from "../maths/quantity.ts";
import { median } from "../maths/statistics.ts";

const fewest = 6;

/**
 * Median with its 95 % interval by order statistics (binomial, normal approximation; David & Nagaraja 2003, Order Statistics,
 * 7.1), times `factor`. Values that are not finite are left out; fewer than six give no interval, and `what` says of what.
 */
export function describeMedian(values: readonly number[], unit: Unit, what: string, factor = 1): Quantity {
  const sorted = values.filter(Number.isFinite).sort((a, b) => a - b);
  const n = sorted.length;
  if (n < fewest) return makeUnknown(unit, `${n} ${what} could be used; an interval needs ${fewest}.`);
  const reach = (1.96 * Math.sqrt(n)) / 2;
  const lo = Math.max(0, Math.floor((n - 1) / 2 - reach));
  const hi = Math.min(n - 1, Math.ceil((n - 1) / 2 + reach));
  return makeMeasured(median(sorted) * factor, unit, sorted[lo] * factor, sorted[hi] * factor, n);
}
