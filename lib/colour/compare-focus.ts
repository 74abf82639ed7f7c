import type { SweepResults } from "../field/sweep.ts";
import { makeExact, makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";

const withoutSweep =
  "Best focus by channel needs a focus sweep; widths in one position do not tell which side of focus a channel is on.";

/**
 * How far to move the sensor, away from the telescope positive, from the reference's best focus to the channel's. Errors of the
 * two sweeps are added in squares, which is too wide where frames are shared, as what the frames have in common cancels.
 */
export function compareFocus(
  sweep: SweepResults | null,
  reference: SweepResults | null,
  isReference: boolean,
): Quantity {
  if (sweep === null || reference === null) return makeUnknown("um", withoutSweep);
  if (isReference) return makeExact(0, "um");
  const [own, other] = [sweep.bestPosition, reference.bestPosition];
  if (own.value === null) return makeUnknown("um", own.why);
  if (other.value === null) return makeUnknown("um", other.why);
  const value = own.value - other.value;
  const reach = Math.hypot(own.hi - own.lo, other.hi - other.lo) / 2;
  return makeMeasured(value, "um", value - reach, value + reach, Math.min(own.n, other.n));
}
