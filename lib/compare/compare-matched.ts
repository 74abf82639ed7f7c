import { ZONES } from "../field/geometry.ts";
import { type FieldMeasures, measureField } from "../field/measure-field.ts";
import { makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import type { Comparison } from "../report/results.ts";
import type { StarTable } from "../stars/star-table.ts";
import type { ComparisonRequest, ComparisonSide } from "./comparison-side.ts";
import { computePixelRatio } from "./focal-lengths.ts";
import type { MatchedMeasurement } from "./matched-measurement.ts";
import { widenForSampling } from "./resampling-error.ts";

type Matched = NonNullable<Comparison["matched"]>;
type ZoneWidths = Record<keyof Matched["zones"], Quantity>;

/** Pixels that differ by less see alike: what resampling would change is below what it is right to. */
export const alikeWithin = 0.002;

/** Which side has the larger pixels on the sky, and by how much; null where the ratio is not known. */
export function chooseCoarser(
  ratio: Quantity,
  a: ComparisonSide,
  b: ComparisonSide,
): { coarser: "a" | "b"; pixelRatio: number } | null {
  const { value } = computePixelRatio(ratio, a, b);
  if (value === null || !(value > 0)) return null;
  return value >= 1 ? { coarser: "b", pixelRatio: value } : { coarser: "a", pixelRatio: 1 / value };
}

function readWidths(measures: FieldMeasures): ZoneWidths {
  return Object.fromEntries(ZONES.map((zone) => [zone, measures.zones[zone].fwhm.px])) as ZoneWidths;
}

function readOwn(side: ComparisonSide): ZoneWidths | null {
  const { zones } = side.results ?? {};
  if (zones === null || zones === undefined) return null;
  return Object.fromEntries(ZONES.map((zone) => [zone, zones[zone].fwhm.px])) as ZoneWidths;
}

/** Widths by zone of the resampled frames: the finer side's own sensor, seen by the coarser side's pixels. */
function measureResampled(finer: ComparisonSide, stored: MatchedMeasurement): ZoneWidths | null {
  const { geometry } = finer;
  const tables = stored.frames.flatMap(({ channels }): StarTable[] => channels.map(({ stars }) => stars));
  if (geometry === null || tables.length === 0) return null;
  const umPerPx = geometry.umPerPx * stored.pixelRatio;
  const { widthPx, heightPx } = stored.frames[0];
  const arcsecPerPx = (finer.results?.scale.arcsecPerPx ?? 1) * stored.pixelRatio;
  const widths = readWidths(
    measureField(tables, { ...geometry, widthPx, heightPx, umPerPx }, { umPerPx, arcsecPerPx }),
  );
  return Object.fromEntries(ZONES.map((zone) => [zone, widenForSampling(widths[zone])])) as ZoneWidths;
}

/** second minus first; reaches of independent intervals add in quadrature on either side. */
function subtract(first: Quantity, second: Quantity): Quantity {
  if (first.value === null) return makeUnknown("px", first.why);
  if (second.value === null) return makeUnknown("px", second.why);
  const value = second.value - first.value;
  const down = Math.hypot(second.value - second.lo, first.hi - first.value);
  const up = Math.hypot(second.hi - second.value, first.value - first.lo);
  return makeMeasured(value, "px", value - down, value + up, Math.min(first.n, second.n));
}

function joinSides(
  coarser: "a" | "b",
  a: ZoneWidths,
  b: ZoneWidths,
): Pick<Comparison, "matched" | "matchedWhy"> {
  const zones = Object.fromEntries(
    ZONES.map((zone) => [zone, { a: a[zone], b: b[zone], difference: subtract(a[zone], b[zone]) }]),
  ) as Matched["zones"];
  return { matched: { coarser, zones } };
}

function without(matchedWhy: string): Pick<Comparison, "matched" | "matchedWhy"> {
  return { matched: null, matchedWhy };
}

function nameSide(letter: "a" | "b", side: ComparisonSide): string {
  return `${side.train.id}/${side.test?.id ?? ""} (side ${letter})`;
}

/** Whether what is stored was made of these very frames and of this ratio. */
function isCurrent(
  stored: MatchedMeasurement,
  coarser: "a" | "b",
  pixelRatio: number,
  finer: ComparisonSide,
): boolean {
  const known = new Set((finer.measurement?.frames ?? []).map(({ sha256 }) => sha256));
  return (
    stored.coarser === coarser &&
    stored.finer.train === finer.train.id &&
    stored.finer.test === finer.test?.id &&
    stored.frames.every(({ sha256 }) => known.has(sha256)) &&
    Math.abs(stored.pixelRatio / pixelRatio - 1) < alikeWithin
  );
}

/**
 * Widths of both sides in px of the coarser one's grid: the coarser's as measured, the finer's measured again after its
 * frames were resampled. Where both sample alike nothing is resampled. Null, with the reason, where the frames' resampling
 * is not stored or belongs to other frames. The reverse is not offered: no sampling adds resolution.
 */
export function compareMatched(
  { a, b }: ComparisonRequest,
  stored: MatchedMeasurement | null,
  ratio: Quantity,
): Pick<Comparison, "matched" | "matchedWhy"> {
  const [ownA, ownB] = [readOwn(a), readOwn(b)];
  if (ownA === null || ownB === null) {
    const missing = ownA === null ? nameSide("a", a) : nameSide("b", b);
    return without(`No star of ${missing} was measured: matched sampling needs stars on both sides.`);
  }
  const choice = chooseCoarser(ratio, a, b);
  if (choice === null) return without("The two sides' pixels cannot be compared: the ratio is not known.");
  const { coarser, pixelRatio } = choice;
  if (pixelRatio - 1 < alikeWithin) return joinSides(coarser, ownA, ownB);
  const [finer, letter] = coarser === "a" ? ([b, "b"] as const) : ([a, "a"] as const);
  if (stored === null) {
    return without(
      `The frames of ${nameSide(letter, finer)}, which has the finer pixels, must be at hand once to be resampled and measured again; npm run report does it when they are.`,
    );
  }
  if (!isCurrent(stored, coarser, pixelRatio, finer)) {
    return without(
      `What is stored was resampled from other frames of ${nameSide(letter, finer)} or to another ratio; npm run report makes it again with the frames at hand.`,
    );
  }
  const resampled = measureResampled(finer, stored);
  if (resampled === null) return without(`The resampled frames of ${nameSide(letter, finer)} hold no star.`);
  return coarser === "a" ? joinSides("a", ownA, resampled) : joinSides("b", resampled, ownB);
}
