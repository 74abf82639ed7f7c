import type { KnownQuantity, Quantity } from "../maths/quantity.ts";
import type { Comparison, UnitVerdict, VerdictUnit, Zone } from "../report/results.ts";
import type { Judgement } from "./judge-verdict.ts";
import { sayNumber, sayRange } from "./say-number.ts";

const unitWords: Record<VerdictUnit, string> = {
  px: "px",
  um: "um",
  arcsec: "arcsec",
  matched: "px",
  oneNight: "arcsec",
};

/** What each unit's sentence speaks of, at its start. */
const openings: Record<VerdictUnit, string> = {
  px: "Counted in pixels",
  um: "By the optics' own blur on the sensor, air, guiding and diffraction taken out",
  arcsec: "On the sky, each on its own night",
  matched: "At equal sampling, each on its own night",
  oneNight: "Put under one night by calculation",
};

/** The two values that were compared, as a sentence quotes them. */
interface Pair {
  a: Quantity;
  b: Quantity;
}

export function readPair(
  unit: VerdictUnit,
  zone: Zone,
  compared: Pick<Comparison, "zones" | "matched">,
): Pair | null {
  const { a, b, optics, underOneNight } = compared.zones[zone];
  if (unit === "px" || unit === "arcsec") return { a: a[unit], b: b[unit] };
  if (unit === "um") return optics;
  if (unit === "oneNight") return underOneNight;
  return compared.matched?.zones[zone] ?? null;
}

/** A blur whose interval starts at zero is told as a limit. */
function sayValue(quantity: Quantity, unit: string, decimals: number): string {
  if (quantity.value === null) return "not known";
  return quantity.lo === 0
    ? `at most ${sayNumber(quantity.hi, decimals)} ${unit}`
    : `${sayNumber(quantity.value, decimals)} ${unit}`;
}

/** Places so that half the interval shows two figures where it starts with 1 or 2, else one. */
function chooseDecimals({ lo, hi }: KnownQuantity): number {
  const half = (hi - lo) / 2;
  if (!(half > 0)) return 2;
  const power = Math.floor(Math.log10(half));
  return Math.max(0, Math.min(3, (half / 10 ** power < 2.95 ? 1 : 0) - power));
}

/** A side called sharper is so by more than nothing: the nearer end of the interval must not be rounded to it. */
function showNearerEnd({ lo, hi }: KnownQuantity, decimals: number): number {
  const nearer = Math.min(Math.abs(lo), Math.abs(hi));
  return Number(nearer.toFixed(decimals)) === 0 ? Math.min(3, decimals + 1) : decimals;
}

/** What matters and what would have shown have no interval to round by: two figures, as the table beside has them. */
function sayLimit(value: number): string {
  return String(Number(value.toPrecision(2)));
}

/** One unit's verdict in words. It claims what the interval holds and nothing more. */
export function describeUnit(
  unit: VerdictUnit,
  judgement: Judgement,
  pair: Pair | null,
  sampling: { a: number; b: number } | null,
): string {
  const { difference, matters, shown } = judgement;
  const opening = openings[unit];
  if (difference.value === null) return `${opening}: it cannot be told. ${difference.why}`;
  if (matters.value === null) return `${opening}: it cannot be told. ${matters.why}`;
  const word = unitWords[unit];
  const isWon = judgement.class === "aSharper" || judgement.class === "bSharper";
  const decimals = isWon ? showNearerEnd(difference, chooseDecimals(difference)) : chooseDecimals(difference);
  const values = (nearer: "a" | "b") => {
    const [first, second] = nearer === "a" ? (["a", "b"] as const) : (["b", "a"] as const);
    return pair === null
      ? ""
      : `: ${sayValue(pair[first], word, decimals)} against ${sayValue(pair[second], word, decimals)}`;
  };
  const measure = unit === "um" ? "blur in the corners is smaller" : "corner stars are narrower";
  const after = unit === "px" && sampling !== null ? ` ${describeSampling(sampling)}` : "";
  if (isWon) {
    const nearer = judgement.class === "aSharper" ? "a" : "b";
    const [lo, hi] = nearer === "a" ? [difference.lo, difference.hi] : [-difference.hi, -difference.lo];
    const size = Math.abs(difference.value);
    return `${opening}, ${nearer.toUpperCase()}'s ${measure} by ${sayNumber(size, decimals)} ${word} (${sayRange(lo, hi, decimals)})${values(nearer)}.${after}`;
  }
  const told = `B minus A is ${sayNumber(difference.value, decimals)} ${word} (${sayRange(difference.lo, difference.hi, decimals)})`;
  if (judgement.class === "noDifference") {
    return `${opening}, there is no difference that matters: ${told}, all of it within ${sayLimit(matters.value)} ${word} either way.${after}`;
  }
  const could = shown.value === null ? "" : `; these data would have shown ${sayLimit(shown.value)} ${word}`;
  return `${opening}, it cannot be told: ${told}. A difference of ${sayLimit(matters.value)} ${word} would matter${could}.${after}`;
}

function describeSampling({ a, b }: { a: number; b: number }): string {
  if (Math.abs(a / b - 1) < 0.02) return "";
  return `One pixel is ${sayNumber(a, 2)} arcsec of sky in A and ${sayNumber(b, 2)} arcsec in B, so this count speaks of sampling as much as of sharpness.`;
}

/** All judgements of the corners with their sentences. */
export function describeUnits(
  judged: Record<VerdictUnit, Judgement>,
  compared: Pick<Comparison, "zones" | "matched">,
  sampling: { a: number; b: number } | null,
): Record<VerdictUnit, UnitVerdict> {
  const describe = (unit: VerdictUnit): UnitVerdict => ({
    ...judged[unit],
    sentence: describeUnit(unit, judged[unit], readPair(unit, "corner", compared), sampling).trim(),
  });
  return {
    px: describe("px"),
    um: describe("um"),
    arcsec: describe("arcsec"),
    matched: describe("matched"),
    oneNight: describe("oneNight"),
  };
}
