import { makeFigureId } from "../../draw/frame-figure.ts";
import { sortByNearness } from "../../maths/edit-distance.ts";
import type { TestResults } from "../../report/results.ts";

/** Something of the page that prose may place or point to. */
export interface Placeable {
  kind: "figure" | "table";
  id: string;
}

/** A name and a test, "" for what belongs to the whole train, to what is meant. */
export interface PlaceIndex {
  byName: Map<string, Placeable>;
  tests: readonly TestResults[];
}

const prefixes = { figure: "fig-", table: "tbl-" } as const;

const makeKey = (kind: string, name: string, test: string) => `${kind} ${name} ${test}`.trim();

/** Names of everything the page has: "figure shape-field 2026-10-04", "table ledger". `tests` in the order of the results. */
export function indexPlaceables(placeables: readonly Placeable[], tests: readonly TestResults[]): PlaceIndex {
  const byName = new Map<string, Placeable>();
  const ends = tests.flatMap((test, index) => [
    { end: makeFigureId("", test.id, index), id: test.id },
    { end: `-${test.id}`, id: test.id },
  ]);
  for (const placeable of placeables) {
    const bare = placeable.id.slice(prefixes[placeable.kind].length);
    const fitting = ends.filter(({ end }) => bare.endsWith(end));
    const best = fitting.sort((a, b) => b.end.length - a.end.length)[0];
    const name = best === undefined ? bare : bare.slice(0, -best.end.length);
    byName.set(makeKey(placeable.kind, name, best?.id ?? ""), placeable);
  }
  return { byName, tests };
}

export type FoundPlace = Placeable | { found: string; allowed: string; fix: string };

const mostOffered = 6;

/** What a name such as "shape-field 2026-10-04" or "zones latest" means; where nothing, what would. */
export function findPlaceable(index: PlaceIndex, kind: "figure" | "table", text: string): FoundPlace {
  const [name = "", ...rest] = text.split(/\s+/);
  const word = rest.join(" ");
  const last = index.tests.length - 1;
  const test =
    word === "latest" ? (index.tests[last]?.id ?? "") : word === "first" ? (index.tests[0]?.id ?? "") : word;
  const found = index.byName.get(makeKey(kind, name, test));
  if (found !== undefined) return found;
  const known = [...index.byName.keys()]
    .filter((key) => key.startsWith(`${kind} `))
    .map((key) => key.slice(kind.length + 1));
  const sameName = known.filter((other) => other.split(" ")[0] === name);
  const offered = sortByNearness(text, sameName.length > 0 ? sameName : known).slice(0, mostOffered);
  const fix =
    offered.length === 0 ? `take it out: this page has no ${kind}` : `write {{ ${kind}: ${offered[0]} }}`;
  const why =
    sameName.length > 0 && test === "" ? `${kind} "${name}" of no test` : `no ${kind} "${text.slice(0, 80)}"`;
  return { found: why, allowed: offered.length === 0 ? "none" : offered.join(", "), fix };
}
