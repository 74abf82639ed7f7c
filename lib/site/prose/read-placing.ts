/** What stands between `{{` and `}}` of the author's prose. */
export type Placing =
  | { kind: "value"; path: string; words: string[] }
  | { kind: PlacingKind; text: string; capital: boolean };

export const placingKinds = ["figure", "table", "finding", "see", "note"] as const;
export type PlacingKind = (typeof placingKinds)[number];

/** Kinds that take a line of their own; the others stand within a sentence. */
export const blockKinds: readonly PlacingKind[] = ["figure", "table", "finding"];

/** Longer than any name or side note; what is longer was never closed. */
const longest = 2000;

/**
 * Finds the end of a placing that begins at `from` with `{{`, placings within it counted (a side note may hold a value).
 * -1 where it does not end.
 */
export function findPlacingEnd(text: string, from: number): number {
  let depth = 0;
  const stop = Math.min(text.length, from + longest);
  for (let at = from; at < stop - 1; at++) {
    const pair = text.slice(at, at + 2);
    if (pair === "{{") depth++;
    else if (pair === "}}") depth--;
    else continue;
    at++;
    if (depth === 0) return at + 1;
  }
  return -1;
}

/** Reads what stands between the braces; null where a word before a colon is no known kind (`unknown` names it). */
export function readPlacing(inner: string): { placing: Placing } | { placing: null; unknown: string } {
  const text = inner.trim();
  const head = /^([A-Za-z]+)\s*:\s*/.exec(text);
  if (head !== null) {
    const kind = placingKinds.find((known) => known === head[1].toLowerCase());
    if (kind === undefined) return { placing: null, unknown: head[1] };
    return { placing: { kind, text: text.slice(head[0].length).trim(), capital: /^[A-Z]/.test(head[1]) } };
  }
  const [path, ...words] = text.split(",").map((part) => part.trim());
  return { placing: { kind: "value", path, words: words.filter((word) => word !== "") } };
}
