/** Units a quantity may carry; the results format of DEVELOPERS.md binds them. */
export type Unit =
  | "px"
  | "um"
  | "mm"
  | "arcsec"
  | "arcmin"
  | "deg"
  | "arcsec/px"
  | "um/mm"
  | "um/mm2"
  | "mag"
  | "stop"
  | "percent"
  | "ratio"
  | "ppm"
  | "e-"
  | "ADU"
  | "e-/ADU"
  | "s"
  | "m/s"
  | "arcsec/min"
  | "turn"
  | "g";

/** How a number was got, as the page shows it. */
export interface Working {
  /** The formula, in the notation of mathjs, for instance "206.2648062 * p / f". */
  formula?: string;
  /** The formula with the numbers put in, for instance "206.2648062 * 3.76 um / 805 mm". */
  working?: string;
  /** Published source of the formula or constant, or "common practice, no source". */
  source?: string;
  /** What must hold for the number to be true, in one sentence. */
  assumes?: string;
}

/** A number that is known; `lo`..`hi` is its 95 % interval (equal to `value` where exact), `n` what it rests on. */
export type KnownQuantity = { value: number; unit: Unit; lo: number; hi: number; n: number } & Working;

/** A number that cannot be told, and why, in one sentence. */
export interface UnknownQuantity {
  value: null;
  unit: Unit;
  why: string;
}

/** A measured or derived number. */
export type Quantity = KnownQuantity | UnknownQuantity;

/** A width in the three units a reader may want. */
export interface Length {
  px: Quantity;
  um: Quantity;
  arcsec: Quantity;
}

/** A quantity that follows exactly from a record or a definition. */
export function makeExact(value: number, unit: Unit, working: Working = {}): Quantity {
  return makeMeasured(value, unit, value, value, 1, working);
}

/** A quantity with its 95 % interval. A number that is not finite becomes an unknown: no NaN reaches a page. */
export function makeMeasured(
  value: number,
  unit: Unit,
  lo: number,
  hi: number,
  n: number,
  working: Working = {},
): Quantity {
  if (!Number.isFinite(value) || !Number.isFinite(lo) || !Number.isFinite(hi)) {
    return makeUnknown(unit, "The numbers at hand do not determine it.");
  }
  return { value, unit, lo, hi, n, ...working };
}

/** A quantity that cannot be told; `why` is one sentence a reader understands. */
export function makeUnknown(unit: Unit, why: string): Quantity {
  return { value: null, unit, why };
}

/** The quantity in another unit that is `factor` times as fine; the working is not carried over. */
export function scaleQuantity(quantity: Quantity, factor: number, unit: Unit): Quantity {
  if (quantity.value === null) return { ...quantity, unit };
  const ends = [quantity.lo * factor, quantity.hi * factor];
  return makeMeasured(quantity.value * factor, unit, Math.min(...ends), Math.max(...ends), quantity.n);
}
