import type { Comparison } from "../report/results.ts";
import { spellUnits } from "./spell-units.ts";

/** A comparison as other pages point to it. */
export interface ComparisonLink {
  name: string;
  href: string;
  /** Who is who. */
  sides: string;
  /** The first sentence of its verdict. */
  verdict: string;
}

/** Sentences of a text, apart. */
export function splitSentences(text: string): string[] {
  return text.split(/(?<=[.!?]) (?=[A-Z])/);
}

/** Comparisons with their addresses from a page that lies `root` ("../../" and so on) below the site's root. */
export function listComparisons(comparisons: readonly Comparison[], root: string): ComparisonLink[] {
  return comparisons.map(({ id, name, sides, verdict }) => ({
    name,
    href: `${root}comparisons/${id}/index.html`,
    sides: `A: ${sides.a.label}; B: ${sides.b.label}`,
    verdict: spellUnits(splitSentences(verdict.overall)[0] ?? ""),
  }));
}
