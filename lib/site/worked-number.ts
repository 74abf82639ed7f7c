import { formatFormula } from "../maths/formula.ts";
import type { Quantity } from "../maths/quantity.ts";
import { formatInterval, formatQuantity } from "./format-number.ts";
import { spellUnits } from "./spell-units.ts";

/** A derived number with all that lets a reader check it. */
export interface WorkedNumber {
  id: string;
  label: string;
  value: string;
  interval: string | null;
  why: string | null;
  meaning: string;
  /** MathML of the formula; null where none is on record. */
  formulaMathml: string | null;
  /** The formula with the numbers put in, likewise. */
  workingMathml: string | null;
  source: string | null;
  assumes: string | null;
}

/** MathML without the style attributes that the page's content policy would refuse. */
export function setFormula(formula: string): string {
  return formatFormula(formula).replace(/\sstyle="[^"]*"/g, "");
}

/** "s = p / f" as MathML: both sides set, joined by the sign. */
export function setEquation(equation: string): string {
  const [left, right] = equation.split(" = ");
  if (right === undefined) return setFormula(equation);
  const inner = [left, right].map((side) => setFormula(side).replace(/^<math[^>]*>|<\/math>$/g, ""));
  return `<math><mrow>${inner[0]}</mrow><mo>=</mo><mrow>${inner[1]}</mrow></math>`;
}

/** Sources write formulas in plain signs; print has the letters. */
function spell(text: string | null | undefined): string | null {
  if (text === null || text === undefined) return null;
  return spellUnits(text)
    .replace(/\^2\b/g, "²")
    .replace(/\blambda\b/g, "λ")
    .replace(/\bepsilon\b/g, "ε");
}

export function makeWorkedNumber(
  id: string,
  label: string,
  meaning: string,
  quantity: Quantity,
  options: { sign?: boolean } = {},
): WorkedNumber {
  const known = quantity.value === null ? null : quantity;
  return {
    id,
    label: spellUnits(label),
    meaning: spellUnits(meaning),
    value: formatQuantity(quantity, options),
    interval: formatInterval(quantity),
    why: quantity.value === null ? spellUnits(quantity.why) : null,
    formulaMathml: known?.formula === undefined ? null : setFormula(known.formula),
    workingMathml: known?.working === undefined ? null : setFormula(known.working),
    source: spell(known?.source),
    assumes: spell(known?.assumes),
  };
}
