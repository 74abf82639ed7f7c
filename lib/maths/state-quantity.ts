import type { KnownQuantity, Quantity } from "./quantity.ts";

/** Decimal places so that half the interval shows one or two figures. */
function chooseDecimals(half: number): number {
  if (!(half > 0)) return 2;
  return Math.max(0, Math.min(4, 1 - Math.floor(Math.log10(half / 1.0000001) + 0.7)));
}

export function isKnown(quantity: Quantity | null | undefined): quantity is KnownQuantity {
  return quantity !== null && quantity !== undefined && quantity.value !== null;
}

/** "1.18 (1.14 to 1.22)", with a unit where it has one; exact values without brackets. */
export function stateQuantity(quantity: KnownQuantity, unit = ""): string {
  const half = (quantity.hi - quantity.lo) / 2;
  const decimals = chooseDecimals(half);
  const write = (value: number) => tidy(value.toFixed(decimals));
  const after = unit === "" ? "" : ` ${unit}`;
  if (!(half > 0)) return `${tidy(String(Number(quantity.value.toFixed(3))))}${after}`;
  return `${write(quantity.value)}${after} (${write(quantity.lo)} to ${write(quantity.hi)})`;
}

/** "18 % (14 to 22 %)" of a ratio that is to be told as a change; a small one keeps the digits that its interval bears. */
export function stateChange(ratio: KnownQuantity): string {
  const half = 50 * (ratio.hi - ratio.lo);
  const isSmall = Math.abs(ratio.value - 1) < 0.095;
  const decimals = isSmall && half > 0 ? Math.min(2, chooseDecimals(half)) : 0;
  const percent = (value: number) => tidy((100 * (value - 1)).toFixed(decimals));
  return `${percent(ratio.value)} % (${percent(ratio.lo)} to ${percent(ratio.hi)} %)`;
}

/** "12 um", and no zero: that nothing at all is left over is not known. */
export function stateRemainder(um: number): string {
  return um < 0.5 ? "less than 1 um" : `${um.toFixed(0)} um`;
}

function tidy(text: string): string {
  return /^-0(\.0*)?$/.test(text) ? text.slice(1) : text.replace("-", "−");
}

export type Judgement = "pass" | "watch" | "fail";

/** Pass where the whole interval keeps to the most allowed, fail where all of it is beyond, else watch. */
export function judgeAtMost(quantity: KnownQuantity, most: number): Judgement {
  if (quantity.hi <= most) return "pass";
  return quantity.lo > most ? "fail" : "watch";
}
