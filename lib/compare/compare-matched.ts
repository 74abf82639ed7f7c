import { ZONES } from "../field/geometry.ts";
import { type FieldMeasures, measureField } from "../field/measure-field.ts";
import type { Quantity } from "../maths/quantity.ts";
import type { Comparison } from "../report/results.ts";
import type { StarTable } from "../stars/star-table.ts";
import type { ComparisonRequest, ComparisonSide } from "./comparison-side.ts";
import { drawWidth } from "./draw-widths.ts";
import { computePixelRatio } from "./focal-lengths.ts";
import type { MatchedMeasurement } from "./matched-measurement.ts";
import { RESAMPLING_SHARE, widenForResampling } from "./resampling-error.ts";
import { gatherStars, type SideStars } from "./side-stars.ts";
import { subtractDrawn } from "./state-draws.ts";

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

/** One side's widths by zone, and the stars they come of. */
interface MatchedSide {
  widths: ZoneWidths;
  stars: SideStars;
}

function readOwn(side: ComparisonSide, stars: SideStars | null): MatchedSide | null {
  const { zones } = side.results ?? {};
  if (zones === null || zones === undefined || stars === null) return null;
  const widths = Object.fromEntries(ZONES.map((zone) => [zone, zones[zone].fwhm.px])) as ZoneWidths;
  return { widths, stars };
}

/** The resampled frames: the finer side's own sensor, seen by the coarser side's pixels. Null where they hold no star. */
function readResampled(finer: ComparisonSide, stored: MatchedMeasurement): MatchedSide | null {
  const { geometry, results } = finer;
  const tables = stored.frames.flatMap(({ channels }): StarTable[] => channels.map(({ stars }) => stars));
  if (geometry === null || results === null || tables.length === 0) return null;
  const { widthPx, heightPx } = stored.frames[0];
  const scale = {
    ...results.scale,
    umPerPx: geometry.umPerPx * stored.pixelRatio,
    arcsecPerPx: results.scale.arcsecPerPx * stored.pixelRatio,
  };
  const onGrid = { ...geometry, widthPx, heightPx, umPerPx: scale.umPerPx };
  const stars = gatherStars({ results: { ...results, scale }, geometry: onGrid, tables, measurement: null });
  if (stars === null) return null;
  const measured = readWidths(measureField(tables, onGrid, scale));
  const widths = Object.fromEntries(
    ZONES.map((zone) => [zone, widenForResampling(measured[zone])]),
  ) as ZoneWidths;
  return { widths, stars: { ...stars, commonFault: Math.hypot(stars.commonFault, RESAMPLING_SHARE / 1.96) } };
}

/** Draws as of all other differences: stars and frames anew, what a single frame does not tell allowed for. */
function joinSides(
  coarser: "a" | "b",
  a: MatchedSide,
  b: MatchedSide,
): Pick<Comparison, "matched" | "matchedWhy"> {
  const zones = Object.fromEntries(
    ZONES.map((zone, k) => {
      const [first, second] = [a.widths[zone], b.widths[zone]];
      const difference = subtractDrawn(
        drawWidth(a.stars, a.stars.zones[zone], seeds.a + k),
        drawWidth(b.stars, b.stars.zones[zone], seeds.b + k),
        { a: 1, b: 1 },
        "px",
        first.value === null ? first.why : second.value === null ? second.why : "Too few stars.",
      );
      return [zone, { a: first, b: second, difference }];
    }),
  ) as Matched["zones"];
  return { matched: { coarser, zones } };
}

/** Apart from those of the widths as measured. */
const seeds = { a: 61_001, b: 87_001 } as const;

function without(matchedWhy: string): Pick<Comparison, "matched" | "matchedWhy"> {
  return { matched: null, matchedWhy };
}

function nameSide(letter: "a" | "b", side: ComparisonSide): string {
  return `${side.train.id}/${side.test?.id ?? ""} (${letter.toUpperCase()})`;
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
    stored.frames.length === finer.tables.length &&
    Math.abs(stored.pixelRatio / pixelRatio - 1) < alikeWithin
  );
}

/**
 * Widths of both sides in px of the coarser one's grid: the coarser's as measured, the finer's measured again after its
 * frames were resampled. Where both sample alike nothing is resampled. Null, with the reason, where the frames' resampling
 * is not stored or belongs to other frames. The reverse is not offered: no sampling adds resolution.
 */
export function compareMatched(
  { a, b }: Pick<ComparisonRequest, "a" | "b">,
  stars: { a: SideStars | null; b: SideStars | null },
  stored: MatchedMeasurement | null,
  ratio: Quantity,
): Pick<Comparison, "matched" | "matchedWhy"> {
  const [ownA, ownB] = [readOwn(a, stars.a), readOwn(b, stars.b)];
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
  const resampled = readResampled(finer, stored);
  if (resampled === null) return without(`The resampled frames of ${nameSide(letter, finer)} hold no star.`);
  return coarser === "a" ? joinSides("a", ownA, resampled) : joinSides("b", resampled, ownB);
}
