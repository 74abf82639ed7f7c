import type { Length, Quantity, Unit } from "../../maths/quantity.ts";
import { escapeHtml } from "../escape-text.ts";
import { formatDate, formatPlain, formatQuantity, formatWithInterval } from "../format-number.ts";

/** Words that may follow a value's name, after a comma. */
export const valueWords = ["with interval", "signed", "without unit", "as percent"] as const;
export type ValueWord = (typeof valueWords)[number];

/** The value as HTML, or what keeps it from being printed. */
export type PrintedValue = { html: string } | { problem: string; allowed: string };

/** Units at the end of a record's key. */
const keyUnits: [RegExp, Unit | "g" | "nm" | "°C"][] = [
  [/Mm$/, "mm"],
  [/Um$/, "um"],
  [/Px$/, "px"],
  [/Nm$/, "nm"],
  [/Deg$/, "deg"],
  [/Percent$/, "percent"],
  [/[a-z]G$/, "g"],
  [/[a-z]C$/, "°C"],
];

/** Classes and names of the results format as prose has them. */
const spoken: Record<string, string> = {
  tooClose: "too close",
  tooFar: "too far",
  aSharper: "the first is sharper",
  bSharper: "the second is sharper",
  noDifference: "no difference",
  cannotTell: "cannot be told",
  upperLeft: "upper left",
  upperRight: "upper right",
  lowerLeft: "lower left",
  lowerRight: "lower right",
};

const longestText = 600;

function isQuantity(value: unknown): value is Quantity {
  return typeof value === "object" && value !== null && "unit" in value && "value" in value;
}

function isLength(value: unknown): value is Length {
  return (
    typeof value === "object" &&
    value !== null &&
    "px" in value &&
    "um" in value &&
    "arcsec" in value &&
    [value.px, value.um, value.arcsec].every(isQuantity)
  );
}

function scaleToPercent(quantity: Quantity): Quantity {
  if (quantity.value === null || quantity.unit !== "ratio") return quantity;
  const { value, lo, hi, n } = quantity;
  return { value: 100 * value, lo: 100 * lo, hi: 100 * hi, n, unit: "percent" };
}

function writeQuantity(quantity: Quantity, words: readonly string[]): string {
  const shown = words.includes("as percent") ? scaleToPercent(quantity) : quantity;
  const options = { sign: words.includes("signed"), unit: !words.includes("without unit") };
  return words.includes("with interval")
    ? formatWithInterval(shown, options)
    : formatQuantity(shown, options);
}

/** What a value rests on, for those who point at it. */
function describeBasis(quantity: Quantity): string {
  if (quantity.value === null || quantity.lo === quantity.hi) return "exact, from the record";
  return `95 % interval: ${formatWithInterval(quantity).replace(/^.*\((.*)\)$/, "$1")}`;
}

function writeNumber(value: number, key: string): string {
  if (key === "confidence") return `${Math.round(100 * value)} %`;
  const unit = keyUnits.find(([ending]) => ending.test(key))?.[1];
  if (unit === undefined) return formatPlain(value);
  if (unit === "g" || unit === "nm" || unit === "°C") return `${formatPlain(value)}\u00a0${unit}`;
  return formatQuantity({ value, unit, lo: value, hi: value, n: 1 });
}

const link = (href: string, attributes: string, text: string) =>
  `<a class="measured" href="${escapeHtml(href)}"${attributes}>${escapeHtml(text)}</a>`;

const attribute = (name: string, text: string) => ` ${name}="${escapeHtml(text)}"`;

/**
 * The value as the page prints it: rounded to its interval, with its unit, linked to where the page shows it. A width that
 * is kept in three units follows the page's unit switch.
 */
export function printValue(
  value: unknown,
  key: string,
  words: readonly string[],
  href: string,
): PrintedValue {
  if (isLength(value)) {
    const unknown = [value.px, value.um, value.arcsec].find((quantity) => quantity.value === null);
    if (unknown !== undefined && unknown.value === null) return refuseNull(unknown.why);
    const texts = {
      px: writeQuantity(value.px, words),
      um: writeQuantity(value.um, words),
      arcsec: writeQuantity(value.arcsec, words),
    };
    const units = Object.entries(texts).map(([unit, text]) => attribute(`data-unit-${unit}`, text));
    return { html: link(href, `${attribute("title", describeBasis(value.um))}${units.join("")}`, texts.um) };
  }
  if (isQuantity(value)) {
    if (value.value === null) return refuseNull(value.why);
    return { html: link(href, attribute("title", describeBasis(value)), writeQuantity(value, words)) };
  }
  if (words.length > 0)
    return { problem: `"${words[0]}" after what is no measured value`, allowed: "the name alone" };
  if (typeof value === "number") return { html: link(href, "", writeNumber(value, key)) };
  if (typeof value === "boolean") return { html: value ? "yes" : "no" };
  if (typeof value === "string") {
    const text = Object.hasOwn(spoken, value) ? spoken[value] : formatDate(value);
    return { html: escapeHtml(text.slice(0, longestText)) };
  }
  if (value === null || value === undefined) return refuseNull("The results have nothing there.");
  const names = Object.keys(value).filter((name) => !/^\d+$/.test(name));
  return {
    problem: "a group of values, not one",
    allowed: names.length === 0 ? "the name of one value" : `one of ${names.slice(0, 12).join(", ")}`,
  };
}

function refuseNull(why: string): PrintedValue {
  return { problem: `a value that is not known: ${why}`, allowed: "a value that the results hold" };
}
