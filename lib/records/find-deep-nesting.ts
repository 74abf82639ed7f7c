import { CST, Lexer } from "yaml";

/** A record needs five steps inwards. */
export const deepestNesting = 20;
/** Indents this wide are no record's; each step inwards takes at least one space, which bounds the steps. */
const widestIndent = 120;

const ofLexer = new Set(["doc-mode", "flow-error-end", "scalar"]);

/**
 * Offset at which a YAML text goes in deeper than any record does, or null. Reads tokens only, without recursion: the
 * parser behind it calls itself for each step inwards, and a stack used up in the middle of a regular expression ends
 * the whole program, which no error handling can stop.
 */
export function findDeepNesting(text: string): number | null {
  let offset = 0;
  let brackets = 0;
  let indicators = 0;
  let atLineStart = true;
  let indent = 0;
  for (const token of new Lexer().lex(text)) {
    const type = CST.tokenType(token);
    // These mark what follows and are not in the text themselves; a scalar's own text comes as the next token.
    if (type !== null && ofLexer.has(type) && token.length === 1 && text[offset] !== token) continue;
    if (type === "newline") {
      atLineStart = true;
      indicators = 0;
      indent = 0;
    } else if (type === "space" && atLineStart) {
      indent = token.length;
      atLineStart = false;
    } else {
      if (type !== "comment" && indent > widestIndent) return offset;
      atLineStart = false;
      if (type === "flow-map-start" || type === "flow-seq-start") brackets++;
      else if (type === "flow-map-end" || type === "flow-seq-end") brackets = Math.max(0, brackets - 1);
      else if (type === "seq-item-ind" || type === "explicit-key-ind" || type === "map-value-ind")
        indicators++;
      // Within brackets a line may hold as many pairs as it likes; outside, each sign on a line goes one step in.
      if (brackets > 0) indicators = 0;
      if (brackets > deepestNesting || indicators > deepestNesting) return offset;
    }
    offset += token.length;
  }
  return null;
}
