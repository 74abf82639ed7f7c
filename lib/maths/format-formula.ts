import type { FunctionNode, MathNode, OperatorNode } from "mathjs";
import temml from "temml";
import { formulaUnits, parseFormula } from "./formula-language.ts";

const greek = new Set(
  (
    "alpha beta gamma delta epsilon zeta eta theta iota kappa lambda mu nu xi pi rho sigma tau upsilon phi chi psi " +
    "omega Gamma Delta Theta Lambda Xi Pi Sigma Upsilon Phi Psi Omega"
  ).split(" "),
);

const functionNames: Record<string, string> = {
  sin: "\\sin",
  cos: "\\cos",
  tan: "\\tan",
  asin: "\\arcsin",
  atan: "\\arctan",
  exp: "\\exp",
  log: "\\ln",
  log2: "\\log_{2}",
  log10: "\\log_{10}",
};

/** Longer than any formula of ours; text beyond it is not parsed. */
const longestFormula = 600;
const cache = new Map<string, string>();
const cacheSize = 1000;

/**
 * MathML of a formula or of its working in the notation of `evaluateFormula`: Greek letters and subscripts from names
 * (`lambda`, `f_R`, `t_1`), quotients as fractions, units upright. The same text always gives the same bytes.
 *
 * Text that is no such formula (from a file that was tampered with, say) comes back as plain, escaped text within `<math>`:
 * nothing of it is run, and no mark-up of it survives.
 */
export function formatFormula(formula: string): string {
  const known = cache.get(formula);
  if (known !== undefined) return known;
  const mathml = renderFormula(formula);
  if (cache.size >= cacheSize) cache.clear();
  cache.set(formula, mathml);
  return mathml;
}

function renderFormula(formula: string): string {
  if (formula.length > longestFormula) return renderPlain(`${formula.slice(0, longestFormula)}…`);
  try {
    return temml.renderToString(writeNode(parseFormula(formula)), { throwOnError: true, annotate: false });
  } catch {
    return renderPlain(formula);
  }
}

function renderPlain(text: string): string {
  const escapes: Record<string, string> = {
    "&": "&amp;",
    "<": "&lt;",
    ">": "&gt;",
    '"': "&quot;",
    "'": "&#39;",
  };
  return `<math><mtext>${text.replace(/[&<>"']/g, (character) => escapes[character])}</mtext></math>`;
}

function refuse(what: string): never {
  throw new Error(`no formula of ours: ${what}`);
}

function writeNode(node: MathNode): string {
  const unitText = writeUnitValue(node);
  if (unitText !== null) return unitText;
  switch (node.type) {
    case "ConstantNode":
      return writeNumber(node);
    case "SymbolNode":
      return writeName((node as MathNode & { name: string }).name);
    case "ParenthesisNode":
      return writeParenthesis((node as MathNode & { content: MathNode }).content);
    case "OperatorNode":
      return writeOperator(node as OperatorNode);
    case "FunctionNode":
      return writeFunction(node as FunctionNode);
    default:
      return refuse(node.type);
  }
}

function writeParenthesis(content: MathNode): string {
  return writeUnitValue(content) ?? `\\left(${writeNode(content)}\\right)`;
}

function writeNumber(node: MathNode): string {
  const { value } = node as MathNode & { value: unknown };
  if (typeof value !== "number" || !Number.isFinite(value)) return refuse("a constant that is no number");
  const [mantissa, exponent] = String(value).split("e");
  return exponent === undefined ? mantissa : `${mantissa}\\times 10^{${Number(exponent)}}`;
}

/** `f_R` as f with an upright subscript R; `lambda` as the letter; a longer word upright. */
function writeName(name: string): string {
  if (formulaUnits.has(name)) return `\\text{${name === "um" ? "µm" : name}}`;
  if (!/^[A-Za-z][A-Za-z0-9]*(_[A-Za-z0-9]+)*$/.test(name)) return refuse(name);
  const [base, ...subscripts] = name.split("_");
  const letter = greek.has(base) ? `\\${base}` : base.length === 1 ? base : `\\mathrm{${base}}`;
  if (subscripts.length === 0) return letter;
  const below = subscripts.map((part) => (greek.has(part) ? `\\${part}` : `\\mathrm{${part}}`));
  return `${letter}_{${below.join(",")}}`;
}

function writeOperator(node: OperatorNode): string {
  const [left, right] = node.args;
  if (right === undefined) return node.op === "-" ? `-${writeNode(left)}` : refuse(node.op);
  switch (node.op) {
    case "+":
    case "-":
      return `${writeNode(left)} ${node.op} ${writeNode(right)}`;
    case "*": {
      if (right.type === "SymbolNode" && formulaUnits.has((right as MathNode & { name: string }).name)) {
        return `${writeNode(left)}\\,${writeNode(right)}`;
      }
      const sign = startsWithDigit(right) || isUnitValue(left) ? "\\times " : "\\,";
      return `${writeNode(left)} ${sign} ${writeNode(right)}`;
    }
    case "/":
      return `\\frac{${writeNode(stripParentheses(left))}}{${writeNode(stripParentheses(right))}}`;
    case "^": {
      const base =
        left.type === "ParenthesisNode"
          ? `\\left(${writeNode(stripParentheses(left))}\\right)`
          : writeNode(left);
      return `{${base}}^{${writeNode(stripParentheses(right))}}`;
    }
    default:
      return refuse(node.op);
  }
}

function writeFunction(node: FunctionNode): string {
  const { name } = node.fn as MathNode & { name: string };
  if (node.args.length !== 1) return refuse(name);
  const [argument] = node.args;
  if (name === "sqrt") return `\\sqrt{${writeNode(argument)}}`;
  if (name === "abs") return `\\left|${writeNode(argument)}\\right|`;
  const symbol = Object.hasOwn(functionNames, name) ? functionNames[name] : refuse(name);
  return `${symbol}\\left(${writeNode(argument)}\\right)`;
}

function stripParentheses(node: MathNode): MathNode {
  return node.type === "ParenthesisNode" ? (node as MathNode & { content: MathNode }).content : node;
}

function startsWithDigit(node: MathNode): boolean {
  if (node.type === "OperatorNode" && (node as OperatorNode).op !== "/") {
    return startsWithDigit((node as OperatorNode).args[0]);
  }
  return node.type === "ConstantNode" || isUnitValue(node);
}

function isUnitValue(node: MathNode): boolean {
  return writeUnitValue(stripParentheses(node)) !== null;
}

/** "3.76 um/px" as a number with an upright unit behind it; null where the node is anything else. */
function writeUnitValue(node: MathNode): string | null {
  const unit = node.toString().match(/^(-?[\d.]+(?:e[+-]?\d+)?) ([A-Za-z]+(?: ?[/^] ?[A-Za-z\d]+)*)$/);
  if (unit === null || !isMadeOfUnits(node)) return null;
  const symbols = unit[2]
    .replaceAll(" ", "")
    .replace(/\bum\b/g, "µm")
    .replaceAll("^2", "²");
  return `${writeNumber({ type: "ConstantNode", value: Number(unit[1]) } as unknown as MathNode)}\\,\\text{${symbols}}`;
}

/** Short names that mean a unit only right behind a number: elsewhere they may be a formula's own letters. */
const unitsBehindNumbers: ReadonlySet<string> = new Set([...formulaUnits, "m", "s", "min"]);

function isMadeOfUnits(node: MathNode): boolean {
  let sound = true;
  node.traverse((part) => {
    if (part.type === "SymbolNode" && !unitsBehindNumbers.has((part as MathNode & { name: string }).name)) {
      sound = false;
    }
    if (!["SymbolNode", "ConstantNode", "OperatorNode"].includes(part.type)) sound = false;
  });
  return sound;
}
