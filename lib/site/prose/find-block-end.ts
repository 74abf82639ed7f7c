import type { Token } from "markdown-it";

/** The index behind the last token of the block that begins at `from`. */
export function findBlockEnd(tokens: readonly Token[], from: number): number {
  let depth = 0;
  for (let at = from; at < tokens.length; at++) {
    depth += tokens[at].nesting;
    if (depth === 0) return at + 1;
  }
  return tokens.length;
}
