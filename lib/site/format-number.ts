import type { Quantity, Unit } from "../maths/quantity.ts";

/** Units as a reader of the page sees them; empty for a plain ratio. */
const unitSigns: Record<Unit, string> = {
  px: "px",
  um: "µm",
  mm: "mm",
  arcsec: "″",
  arcmin: "′",
  deg: "°",
  "arcsec/px": "″/px",
  "um/mm": "µm/mm",
  "um/mm2": "µm/mm²",
  mag: "mag",
  stop: "stops",
  percent: "%",
  ratio: "",
  ppm: "ppm",
  "e-": "e⁻",
  ADU: "ADU",
  "e-/ADU": "e⁻/ADU",
  s: "s",
  "m/s": "m/s",
  "arcsec/min": "″/min",
  turn: "turns",
  g: "g",
};

/** Signs that stand against their number without a space. */
const closeSigns = new Set(["″", "′", "°", "″/px", "″/min"]);

export function nameUnit(unit: Unit): string {
  return unitSigns[unit] ?? unit;
}

/**
 * Decimal places worth printing: the half-width of the interval keeps two figures when it starts with 1 or 2 and one
 * figure otherwise; an exact number keeps four significant figures. (Chosen: the usual rule of measurement reports.)
 */
export function chooseDecimals(value: number, lo: number, hi: number): number {
  const half = Math.abs(hi - lo) / 2;
  if (!(half > 0)) {
    if (value === 0 || Number.isInteger(value)) return 0;
    return clampDecimals(3 - Math.floor(Math.log10(Math.abs(value))));
  }
  const exponent = Math.floor(Math.log10(half));
  const lead = half / 10 ** exponent;
  return clampDecimals((lead < 2.95 ? 1 : 0) - exponent);
}

function clampDecimals(decimals: number): number {
  return Math.max(0, Math.min(6, decimals));
}

/** The number with a true minus sign; "−0.00" is written "0.00". */
export function formatNumber(value: number, decimals: number): string {
  if (Math.abs(value) >= 1e15) return value.toExponential(3).replace("-", "−");
  const fixed = value.toFixed(decimals);
  return /^-0(\.0*)?$/.test(fixed) ? fixed.slice(1) : fixed.replace("-", "−");
}

/** An exact number of a record: four significant figures at most, no trailing zeros. */
export function formatPlain(value: number): string {
  return formatNumber(value, chooseDecimals(value, value, value))
    .replace(/(\.\d*?)0+$/, "$1")
    .replace(/\.$/, "");
}

/** "f/5.53" or "f/4.8": three figures, as focal ratios are spoken of. */
export function formatFocalRatio(ratio: number): string {
  return `f/${Number(ratio.toPrecision(3))}`;
}

/** Decimals beyond which an exact number of a unit says nothing to someone with a caliper or a ruler. */
const mostDecimals: Partial<Record<Unit, number>> = {
  mm: 3,
  deg: 3,
  um: 2,
  px: 2,
  arcsec: 2,
  "arcsec/px": 3,
  percent: 1,
};

/**
 * Decimals beyond which a measured number of a unit means nothing in use, however well stars may fix it: a ratio of focal
 * lengths to 10 ppm, a focal length to a micrometre (chosen).
 */
const finestDecimals: Partial<Record<Unit, number>> = {
  mm: 3,
  deg: 3,
  um: 2,
  px: 3,
  arcsec: 3,
  "arcsec/px": 4,
  ratio: 5,
  percent: 2,
};

function chooseMeasuredDecimals(value: number, lo: number, hi: number, unit: Unit): number {
  return Math.min(chooseDecimals(value, lo, hi), finestDecimals[unit] ?? 6);
}

function formatExact(value: number, unit: Unit): string {
  const decimals = Math.min(chooseDecimals(value, value, value), mostDecimals[unit] ?? 6);
  return formatNumber(value, decimals)
    .replace(/(\.\d*?)0+$/, "$1")
    .replace(/\.$/, "");
}

function joinUnit(text: string, unit: Unit): string {
  const sign = nameUnit(unit);
  if (sign === "") return text;
  return closeSigns.has(sign) ? `${text}${sign}` : `${text}\u00a0${sign}`;
}

/** The value with its unit; "not known" where it cannot be told. */
export function formatQuantity(quantity: Quantity, options: { sign?: boolean; unit?: boolean } = {}): string {
  if (quantity.value === null) return "not known";
  const decimals = chooseMeasuredDecimals(quantity.value, quantity.lo, quantity.hi, quantity.unit);
  const number =
    quantity.lo === quantity.hi
      ? formatExact(quantity.value, quantity.unit)
      : formatNumber(quantity.value, decimals);
  const signed = options.sign && quantity.value > 0 && !/^0(\.0*)?$/.test(number) ? `+${number}` : number;
  return options.unit === false ? signed : joinUnit(signed, quantity.unit);
}

/**
 * The 95 % interval, "2.28 to 2.35", in the unit of the value; null where the number is exact or not known. Where it is finer
 * than print, its ends are rounded outwards, so that it is never printed narrower than it is.
 */
export function formatInterval(quantity: Quantity): string | null {
  if (quantity.value === null || quantity.lo === quantity.hi) return null;
  const { value, lo, hi, unit } = quantity;
  const decimals = chooseMeasuredDecimals(value, lo, hi, unit);
  const step = decimals < chooseDecimals(value, lo, hi) ? 10 ** decimals : null;
  const [from, to] = step === null ? [lo, hi] : [Math.floor(lo * step) / step, Math.ceil(hi * step) / step];
  return `${formatNumber(from, decimals)} to ${formatNumber(to, decimals)}`;
}

export { formatDate } from "../maths/format-date.ts";

/** Value, unit and 95 % interval in one line: "34 µm (24 to 43)". */
export function formatWithInterval(quantity: Quantity, options: { sign?: boolean } = {}): string {
  const interval = formatInterval(quantity);
  const value = formatQuantity(quantity, options);
  return interval === null ? value : `${value} (${interval})`;
}
