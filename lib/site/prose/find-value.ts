import { sortByNearness } from "../../maths/edit-distance.ts";
import type { TrainResults } from "../../report/results.ts";

/** A value of the results by its name, or how far the name leads and what could follow there. */
export type FoundValue =
  | { value: unknown; key: string; parents: unknown[]; path: string }
  | { missing: string; after: string; nearest: string[] };

/** Parts of the results that a name may begin with; the page's own wording is not among them. */
const roots = [
  "id",
  "name",
  "train",
  "sampling",
  "backFocus",
  "tests",
  "ledger",
  "tiltSources",
  "comparisons",
  "extras",
  "equipment",
] as const;

/** Keys that name an entry of a list, best first. */
const nameKeys = ["id", "test", "part", "file", "halfDiagonal", "zone", "of", "item"] as const;

const mostOffered = 5;
const longestPath = 300;

function isMapping(value: unknown): value is Record<string, unknown> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

/** The names that may follow, each with the key that results.json has in its place. */
function listNames(value: unknown, parent: string): Map<string, string> {
  const names = new Map<string, string>();
  if (isMapping(value)) {
    for (const key of Object.keys(value)) names.set(key, key);
    return names;
  }
  if (!Array.isArray(value)) return names;
  if (parent === "tests" && value.length > 0) {
    names.set("first", "0").set("latest", String(value.length - 1));
  }
  value.forEach((entry, index) => {
    names.set(String(index), String(index));
    if (!isMapping(entry)) return;
    for (const key of nameKeys) {
      const name = Object.hasOwn(entry, key) ? entry[key] : undefined;
      if (typeof name === "string" && !names.has(name)) names.set(name, String(index));
    }
  });
  return names;
}

/** Names may hold dots (a test's folder, a part): the longest one that fits is meant. */
function matchName(rest: string, names: ReadonlyMap<string, string>): string | null {
  let best: string | null = null;
  for (const name of names.keys()) {
    if ((rest === name || rest.startsWith(`${name}.`)) && (best === null || name.length > best.length))
      best = name;
  }
  return best;
}

/**
 * Looks a value up by the names of results.json, joined by points: "tests.2026-10-04.zones.centre.fwhm.arcsec". Entries of a list
 * go by their id, test, part or place from 0; `tests.latest` and `tests.first` go by date. Only a value's own keys count.
 */
export function findValue(results: TrainResults, name: string): FoundValue {
  let value: unknown = Object.fromEntries(
    roots.flatMap((root) =>
      Object.hasOwn(results, root) ? [[root, results[root as keyof TrainResults]]] : [],
    ),
  );
  let rest = name.slice(0, longestPath);
  let key = "";
  const after: string[] = [];
  const parents: unknown[] = [];
  const path: string[] = [];
  while (rest !== "") {
    const names = listNames(value, key);
    const match = matchName(rest, names);
    if (match === null) {
      const step = rest.split(".")[0];
      const spoken = [...names.keys()].filter((known) => !/^\d+$/.test(known));
      return {
        missing: step,
        after: after.join("."),
        nearest: sortByNearness(step, spoken).slice(0, mostOffered),
      };
    }
    parents.push(value);
    key = names.get(match) ?? match;
    value = (value as Record<string, unknown>)[key];
    path.push(key);
    after.push(match);
    rest = rest.slice(match.length + 1);
  }
  return {
    value,
    key: path.findLast((step) => !/^(\d+|value|stated)$/.test(step)) ?? "",
    parents,
    path: path.join("."),
  };
}
