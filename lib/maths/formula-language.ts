import type { MathNode, Unit as UnitValue } from "mathjs";
import mathjs from "mathjs/lib/browser/math.js";
import type { Unit } from "./quantity.ts";

export type { UnitValue };

/**
 * An instance of our own, for it gets units of our own. The one-file build makes each function when it is first used and
 * loads in a quarter of a second; the package's many small files take two, even where only a few functions are asked for.
 */
const math = mathjs.create(mathjs.all);
for (const name of ["px", "electron", "ADU", "turn"]) math.createUnit(name);
// The inverse functions would give a bare number; an angle must carry its unit to be checked.
math.import(
  {
    atan: (ratio: number) => math.unit(Math.atan(ratio), "rad"),
    asin: (ratio: number) => math.unit(Math.asin(ratio), "rad"),
  },
  { override: true },
);

/** Names that always mean a unit in a formula; none of them can be an input. */
export const formulaUnits: ReadonlySet<string> = new Set([
  "px",
  "nm",
  "um",
  "mm",
  "arcsec",
  "arcmin",
  "deg",
  "rad",
  "electron",
  "ADU",
  "turn",
]);

/** Units without dimension that the language has no word for, as plain numbers. */
export const dimensionlessUnits: Readonly<Partial<Record<string, number>>> = {
  ratio: 1,
  mag: 1,
  stop: 1,
  percent: 0.01,
  ppm: 1e-6,
  "um/mm": 1e-3,
};

/** How the language writes a unit of ours. */
export function spellUnit(unit: string): string {
  if (unit === "um/mm2") return "um/mm^2";
  return unit.replaceAll("e-", "electron");
}

/** The syntax tree of a formula. Throws on text that does not parse. */
export function parseFormula(formula: string): MathNode {
  return math.parse(formula);
}

/** A number with its unit; a bare number where the unit is null or has no dimension. */
export function attachUnit(value: number, unit: string | null): number | UnitValue {
  if (unit === null) return value;
  const factor = Object.hasOwn(dimensionlessUnits, unit) ? dimensionlessUnits[unit] : undefined;
  return factor === undefined ? math.unit(value, spellUnit(unit)) : value * factor;
}

/**
 * The number of a result in the unit wanted.
 *
 * @throws RangeError where the result is of another kind: an error in the formula, not in the data
 */
export function readInUnit(result: unknown, unit: Unit, formula: string): number {
  const factor = Object.hasOwn(dimensionlessUnits, unit) ? dimensionlessUnits[unit] : undefined;
  if (factor !== undefined && typeof result === "number") return result / factor;
  if (isUnitValue(result)) {
    if (factor !== undefined && result.equalBase(math.unit(1, "um/mm")))
      return result.toNumber("um/mm") * (1e-3 / factor);
    if (factor === undefined && result.equalBase(math.unit(1, spellUnit(unit))))
      return result.toNumber(spellUnit(unit));
  }
  throw new RangeError(`"${formula}" gives ${String(result)}, which is not in ${unit}`);
}

function isUnitValue(value: unknown): value is UnitValue {
  return typeof value === "object" && value !== null && "equalBase" in value;
}
