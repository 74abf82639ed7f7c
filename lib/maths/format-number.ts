import type { Quantity } from "./quantity.ts";

/** Significant digits of an exact number: as many as anybody at a telescope can use. */
const exactDigits = 4;
/** Digits behind the point at most: no length of ours is known to a picometre. */
const decimalsAtMost = 9;

/**
 * How many digits behind the point a value with this 95 % interval is given: so many that half the interval's width shows two
 * significant digits (JCGM 100:2008, 7.2.6). For an exact value: four significant digits, and every digit before the point.
 */
export function countDecimals(value: number, lo: number, hi: number): number {
  const halfWidth = (hi - lo) / 2;
  if (halfWidth > 0 && Number.isFinite(halfWidth)) {
    const leading = Math.floor(Math.log10(Number(halfWidth.toPrecision(2))));
    return Math.min(decimalsAtMost, Math.max(0, 1 - leading));
  }
  if (value === 0 || !Number.isFinite(value)) return 0;
  const leading = Math.floor(Math.log10(Math.abs(Number(value.toPrecision(exactDigits)))));
  return Math.min(decimalsAtMost, Math.max(0, exactDigits - 1 - leading));
}

/** A number with a fixed count of decimals and a true minus sign; never "−0.0". */
export function formatFixed(value: number, decimals: number): string {
  const text = value.toFixed(decimals);
  if (!text.startsWith("-")) return text;
  return Number(text) === 0 ? text.slice(1) : `−${text.slice(1)}`;
}

/** The value alone: rounded to its interval, or, where it is exact, to four significant digits without trailing zeros. */
export function formatValue(value: number, lo = value, hi = value): string {
  const decimals = countDecimals(value, lo, hi);
  const text = formatFixed(value, decimals);
  return lo === hi && text.includes(".") ? text.replace(/\.?0+$/, "") : text;
}

/**
 * The half-widths of the interval as "± 0.12", or "+ 0.12 − 0.30" where they differ by more than a quarter; empty for an exact
 * value. Rounded like the value.
 */
export function formatPlusMinus(value: number, lo: number, hi: number): string {
  const [below, above] = [value - lo, hi - value];
  if (!(below + above > 0)) return "";
  const decimals = countDecimals(value, lo, hi);
  if (Math.abs(above - below) > 0.25 * Math.max(above, below)) {
    return `+ ${formatFixed(above, decimals)} − ${formatFixed(below, decimals)}`;
  }
  return `± ${formatFixed((below + above) / 2, decimals)}`;
}

const unitNames: Partial<Record<string, string>> = {
  um: "µm",
  arcsec: "″",
  arcmin: "′",
  deg: "°",
  "arcsec/px": "″/px",
  "um/mm": "µm/mm",
  "um/mm2": "µm/mm²",
  "arcsec/min": "″/min",
  percent: "%",
  ratio: "",
  "e-": "e⁻",
  "e-/ADU": "e⁻/ADU",
};

/** The unit as print has it; empty for a ratio. */
export function formatUnit(unit: string): string {
  return Object.hasOwn(unitNames, unit) ? (unitNames[unit] ?? unit) : unit;
}

/** "(2.51 ± 0.08) px", "805 mm", or "not known" for an unknown. Number and unit are kept on one line. */
export function formatQuantityText(quantity: Quantity): string {
  if (quantity.value === null) return "not known";
  const { value, lo, hi } = quantity;
  const unit = formatUnit(quantity.unit);
  const plusMinus = formatPlusMinus(value, lo, hi);
  const joint = unit === "" || ["″", "′", "°"].includes(unit) ? "" : "\u00a0";
  const number = formatValue(value, lo, hi);
  if (plusMinus === "") return `${number}${joint}${unit}`;
  return unit === "" ? `${number}\u00a0${plusMinus}` : `(${number}\u00a0${plusMinus})${joint}${unit}`;
}
