import type { KeyMeaning, KeyMeanings } from "./key-meaning.ts";
import { describeAllowed } from "./key-meaning.ts";

/** One key of a starting record. */
export interface StartingKey {
  /** Path in the table of meanings: "telescope.apertureMm". */
  key: string;
  /** As written behind the colon; empty for the head of a block. Left out: the table's example. */
  value?: string;
  /** The value is invented: to be replaced. */
  invented?: true;
  /** An optional key, switched off by a "#". */
  off?: true;
  /** Further lines below the key, of the same indent, such as the items of a list. */
  below?: readonly string[];
}

const width = 100;

/** Text as comment lines, broken between words; lines after the first are set in by `hang` more spaces. */
export function comment(text: string, indent = "", first = " ", hang = first): string[] {
  const lines: string[] = [];
  let line = `${indent}#${first}`;
  let isEmpty = true;
  for (const word of text.split(/\s+/)) {
    if (!isEmpty && line.length + 1 + word.length > width) {
      lines.push(line);
      line = `${indent}#${hang}`;
      isEmpty = true;
    }
    line += isEmpty ? word : ` ${word}`;
    isEmpty = false;
  }
  return [...lines, line];
}

function explain(meaning: KeyMeaning): string {
  const isTold = meaning.range !== undefined || meaning.words !== undefined;
  const allowed = isTold ? ` Allowed: ${describeAllowed(meaning)}.` : "";
  const leftOut = meaning.leftOut === undefined ? "" : ` Left out: ${meaning.leftOut}.`;
  return `${meaning.meaning}${allowed}${leftOut}`;
}

/** The explanation of a key: what it is, what is allowed, what holds where it is left out. */
export function explainKey(meaning: KeyMeaning, indent: string): string[] {
  return comment(explain(meaning), indent);
}

/** The explanation of a key that is not written on a line of its own, after its word. */
export function explainInner(word: string, meaning: KeyMeaning): string[] {
  return comment(`${word}: ${explain(meaning)}`, "", "   ", "     ");
}

/**
 * The lines of a key: its explanation behind "# ", then the key. A key that is switched off has a "#" with no space
 * after it before each of its lines, so that taking these "#" away leaves a right record.
 */
export function writeKey(
  keys: KeyMeanings,
  { key, value, invented, off, below = [] }: StartingKey,
): string[] {
  const meaning = keys[key];
  if (meaning === undefined) throw new Error(`no meaning is stated for ${key}`);
  const indent = "  ".repeat(key.split(".").length - 1);
  const word = key.slice(key.lastIndexOf(".") + 1);
  const shown = value ?? meaning.example;
  const text = [`${word}:`, shown, invented ? " # REPLACE" : ""].filter((part) => part !== "").join(" ");
  const mark = off ? "#" : "";
  return [...explainKey(meaning, indent), ...[text, ...below].map((line) => `${indent}${mark}${line}`)];
}
