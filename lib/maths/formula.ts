import type { EvalFunction, MathNode } from "mathjs";
import {
  attachUnit,
  dimensionlessUnits,
  formulaUnits,
  parseFormula,
  readInUnit,
  spellUnit,
} from "./formula-language.ts";
import {
  makeMeasured,
  makeUnknown,
  type Quantity,
  type Unit,
  type UnknownQuantity,
  type Working,
} from "./quantity.ts";

export { formatFormula } from "./format-formula.ts";

/** A number put into a formula; a quantity will do. */
export interface KnownInput {
  value: number;
  /** A unit of `Unit`, or any product of nm, um, mm, px, arcsec, deg and the like ("um/px"); null for a plain number. */
  unit: string | null;
  /** 95 % interval; left out where the number is exact. */
  lo?: number;
  hi?: number;
  /** What it rests on; 1 where left out. */
  n?: number;
}

export type FormulaInput = KnownInput | UnknownQuantity;

export interface FormulaRequest {
  /** In the notation of mathjs, with units where a constant has one: "206264.806 arcsec * p / f". */
  formula: string;
  inputs: Readonly<Record<string, FormulaInput>>;
  unit: Unit;
  source: string;
  assumes?: string;
}

interface CompiledFormula {
  tree: MathNode;
  code: EvalFunction;
  names: ReadonlySet<string>;
}

const cache = new Map<string, CompiledFormula>();
const cacheSize = 1000;

/**
 * Evaluates a formula with units and gives the quantity with formula, numbers put in and source.
 *
 * Interval: each input with an interval is moved to its two ends with the others held, and the changes are added in
 * quadrature on either side (JCGM 100:2008, 5.1.2, with finite differences for the derivatives as its 5.1.3 note 2 allows):
 * for independent inputs. With one such input it is exact where the formula is monotonic. `n` is the smallest among the inputs
 * that carry an interval, 1 where all are exact.
 *
 * Formulas are constants of the code. An input that is unknown makes the result unknown, with the same reason;
 * so does a result that is not a finite number.
 *
 * @throws Error where the formula does not parse, names something that is not given, does not use something that is,
 *   or yields another kind of unit than the one stated
 */
export function evaluateFormula(request: FormulaRequest): Quantity {
  // JSON has no name for numbers that are not finite, and they are not alike.
  const key = JSON.stringify(request, (_, part: unknown) =>
    typeof part === "number" && !Number.isFinite(part) ? String(part) : part,
  );
  const before = evaluated.get(key);
  if (before !== undefined) return { ...before };
  const result = evaluateAnew(request);
  if (evaluated.size >= cacheSize) evaluated.clear();
  evaluated.set(key, result);
  return { ...result };
}

/** Trains share telescopes and cameras, and tests their train: most formulas are asked with the same numbers again. */
const evaluated = new Map<string, Quantity>();

function evaluateAnew(request: FormulaRequest): Quantity {
  const { formula, inputs, unit } = request;
  const compiled = compileFormula(formula);
  checkNames(formula, compiled.names, Object.keys(inputs));
  const known: Record<string, KnownInput> = {};
  for (const [name, input] of Object.entries(inputs)) {
    if (input.value === null) return makeUnknown(unit, input.why);
    known[name] = input;
  }
  const scope = Object.fromEntries(
    Object.entries(known).map(([name, input]) => [name, attachUnit(input.value, input.unit)]),
  );
  const evaluate = (changed: Record<string, unknown>): number =>
    // The last digits of a double are the dust of its rounding: 55.00000000000001 mm helps nobody.
    Number(readInUnit(compiled.code.evaluate({ ...scope, ...changed }), unit, formula).toPrecision(14));
  const value = evaluate({});
  let below = 0;
  let above = 0;
  let count = Number.POSITIVE_INFINITY;
  for (const [name, input] of Object.entries(known)) {
    const ends = [input.lo ?? input.value, input.hi ?? input.value];
    if (ends[0] === input.value && ends[1] === input.value) continue;
    const changes = ends.map((end) => evaluate({ [name]: attachUnit(end, input.unit) }) - value);
    below += Math.min(0, ...changes) ** 2;
    above += Math.max(0, ...changes) ** 2;
    count = Math.min(count, input.n ?? 1);
  }
  const working: Working = { formula, working: putNumbersIn(compiled.tree, known), source: request.source };
  if (request.assumes !== undefined) working.assumes = request.assumes;
  return makeMeasured(
    value,
    unit,
    value - Math.sqrt(below),
    value + Math.sqrt(above),
    Number.isFinite(count) ? count : 1,
    working,
  );
}

function compileFormula(formula: string): CompiledFormula {
  const known = cache.get(formula);
  if (known !== undefined) return known;
  const tree = parseFormula(formula);
  const names = new Set<string>();
  tree.traverse((node, path) => {
    if (node.type === "SymbolNode" && path !== "fn") names.add((node as MathNode & { name: string }).name);
  });
  const compiled = { tree, code: tree.compile(), names };
  if (cache.size >= cacheSize) cache.clear();
  cache.set(formula, compiled);
  return compiled;
}

function checkNames(formula: string, used: ReadonlySet<string>, given: readonly string[]): void {
  for (const name of used) {
    if (given.includes(name) || formulaUnits.has(name) || name === "pi") continue;
    throw new Error(`"${formula}" names ${name}, which is not given`);
  }
  for (const name of given) {
    if (formulaUnits.has(name)) throw new Error(`"${formula}": ${name} is a unit and cannot be an input`);
    if (!used.has(name)) throw new Error(`"${formula}" does not use ${name}`);
  }
}

/** The formula as text with each input replaced by its number and unit; it can be evaluated again. */
function putNumbersIn(tree: MathNode, inputs: Record<string, KnownInput>): string {
  return tree.toString({
    parenthesis: "keep",
    implicit: "hide",
    handler: (node: MathNode) => {
      if (node.type === "ConstantNode") return String((node as MathNode & { value: unknown }).value);
      if (node.type !== "SymbolNode") return undefined;
      const { name } = node as MathNode & { name: string };
      return Object.hasOwn(inputs, name) ? writeInput(inputs[name]) : undefined;
    },
  });
}

function writeInput(input: KnownInput): string {
  const number = roundForWorking(input);
  const plain =
    input.unit === null || input.unit === "ratio" || input.unit === "mag" || input.unit === "stop";
  if (plain) return input.value < 0 ? `(${number})` : number;
  const factor = dimensionlessUnits[input.unit ?? ""];
  if (factor !== undefined && input.unit !== "um/mm")
    return roundForWorking({ ...input, value: input.value * factor });
  return `(${number} ${spellUnit(input.unit ?? "")})`;
}

/** Seven significant digits for exact numbers; to the second digit of the half-width for measured ones, but at least four. */
function roundForWorking({ value, lo, hi }: KnownInput): string {
  const halfWidth = ((hi ?? value) - (lo ?? value)) / 2;
  if (!(halfWidth > 0) || value === 0) return String(Number(value.toPrecision(7)));
  const digits = Math.floor(Math.log10(Math.abs(value))) - Math.floor(Math.log10(halfWidth)) + 2;
  return String(Number(value.toPrecision(Math.min(7, Math.max(4, digits)))));
}
