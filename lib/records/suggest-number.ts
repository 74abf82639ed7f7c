import type { KeyMeaning } from "./key-meaning.ts";

/** How many of the record's unit one of the other unit is, most likely slip first. */
const sisterUnits: Record<string, readonly (readonly [name: string, factor: number])[]> = {
  mm: [
    ["m", 1000],
    ["um", 0.001],
    ["in", 25.4],
    ["cm", 10],
  ],
  um: [
    ["nm", 0.001],
    ["mm", 1000],
  ],
  nm: [
    ["um", 1000],
    ["angstrom", 0.1],
  ],
  percent: [["as a fraction", 100]],
};

const unitSpellings: Record<string, string> = {
  µm: "um",
  μm: "um",
  micron: "um",
  microns: "um",
  '"': "in",
  inch: "in",
  inches: "in",
  "%": "percent",
  "°": "deg",
  degrees: "deg",
  pixels: "px",
};

/** Enough digits for any length on record, none of the noise of binary fractions. */
function tidy(value: number): string {
  return String(Number(value.toPrecision(9)));
}

function isWithin(meaning: KeyMeaning, value: number): boolean {
  if (meaning.range === undefined) return Number.isFinite(value);
  const [lowest, highest] = meaning.range;
  return value >= lowest && value <= highest && (!meaning.whole || Number.isInteger(value));
}

/** The edit for a number outside its range: the unit it may have been typed in, where one would make it right. */
export function suggestRange(meaning: KeyMeaning, value: number): string {
  const unit = meaning.unit ?? "";
  if (meaning.whole && !Number.isInteger(value))
    return `write a whole number${unit === "" ? "" : ` of ${unit}`}`;
  const slips = (sisterUnits[unit] ?? [])
    .map(([name, factor]) => ({ name, factor, right: value * factor }))
    .filter(({ right }) => isWithin(meaning, right))
    .map(({ name, right, factor }) =>
      factor === 1000 || factor === 0.001
        ? `${tidy(value)} ${name} is ${tidy(right)} ${unit}, a factor of 1000: write ${tidy(right)}`
        : `${tidy(value)} ${name} is ${tidy(right)} ${unit}: write ${tidy(right)}`,
    )
    .slice(0, 2);
  if (slips.length > 0) return slips.join("; or ");
  return unit === "" ? "give the value anew" : `give the value anew, in ${unit}`;
}

/** The edit for text that stands where a number is wanted; null where there is no number in it. */
export function suggestNumber(meaning: KeyMeaning, text: string): string | null {
  const match = /^\s*([+-]?\d+(?:[.,]\d+)?(?:e[+-]?\d+)?)\s*(\S.{0,20})?$/i.exec(text);
  if (match === null) return null;
  const value = Number(match[1].replace(",", "."));
  const typed = match[2]?.trim() ?? "";
  const unit = unitSpellings[typed.toLowerCase()] ?? typed.toLowerCase();
  const reason = explainText(match[1], typed, meaning);
  const sister = sisterUnits[meaning.unit ?? ""]?.find(([name]) => name === unit);
  const inUnit = sister === undefined ? value : value * sister[1];
  if (!isWithin(meaning, inUnit)) return null;
  return `write ${tidy(inUnit)}${reason}`;
}

function explainText(number: string, unit: string, meaning: KeyMeaning): string {
  if (unit !== "")
    return meaning.unit === undefined ? ", the number alone" : `, the number alone: it is in ${meaning.unit}`;
  if (number.includes(",")) return ": decimals take a point, not a comma";
  return ", without quotes";
}
