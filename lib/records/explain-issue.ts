import type { z } from "zod";
import { findNearest } from "../maths/edit-distance.ts";
import { suggestDate } from "./calendar-date.ts";
import { findMeaning, listChildKeys, RECORD_KEYS, type RecordKind } from "./describe-keys.ts";
import { type Finding, formatPath, readPath, showValue } from "./finding.ts";
import { describeAllowed, type KeyMeaning } from "./key-meaning.ts";
import { suggestNumber, suggestRange } from "./suggest-number.ts";

type Issue = z.core.$ZodIssue;

/** Of a hostile record with thousands of keys the first will do. */
const mostKeysTold = 50;

/**
 * The findings of one issue of the schema check, in the words of the key's meaning rather than the schema's. `data` is
 * what was checked, `prefix` the path at which it stands in its file (["cameras", "heron-26"] of content/parts).
 */
export function explainIssue(
  issue: Issue,
  data: unknown,
  kind: RecordKind,
  prefix: readonly PropertyKey[] = [],
): Finding[] {
  const inner = issue.path;
  const path = [...prefix, ...inner];
  const value = readPath(data, inner);
  if (issue.code === "invalid_union" && value !== undefined) {
    const branch = chooseBranch(issue.errors);
    if (branch !== null) {
      return branch.flatMap((deeper) =>
        explainIssue({ ...deeper, path: [...inner, ...deeper.path] }, data, kind, prefix),
      );
    }
  }
  if (issue.code === "unrecognized_keys") {
    return issue.keys.slice(0, mostKeysTold).map((key) => explainUnknownKey(key, path, value, kind));
  }
  if (issue.code === "invalid_key") return [explainWord(path, kind)];
  const meaning = findMeaning(kind, path) ?? findMeaning(kind, path.slice(0, -1)) ?? null;
  const allowed = meaning === null ? "what the record's key list says" : describeAllowed(meaning);
  if (value === undefined) return [explainMissing(path, meaning, allowed)];
  const { code, fix } = suggestFix(path, value, meaning);
  return [{ code, path, at: "value", found: showValue(value), allowed, fix }];
}

/** The alternative the author meant: the one with the fewest keys unknown or missing; null where none takes mappings. */
function chooseBranch(branches: readonly (readonly Issue[])[]): readonly Issue[] | null {
  const deep = branches.filter(
    (issues) => !issues.some((issue) => issue.path.length === 0 && isWrongKind(issue)),
  );
  if (deep.length === 0) return null;
  const count = (issues: readonly Issue[]) =>
    issues.reduce((sum, issue) => sum + (issue.code === "unrecognized_keys" ? issue.keys.length : 1), 0);
  return deep.reduce((best, issues) => (count(issues) < count(best) ? issues : best));
}

function isWrongKind(issue: Issue): boolean {
  return issue.code === "invalid_type" || issue.code === "invalid_union" || issue.code === "invalid_format";
}

function explainUnknownKey(
  key: string,
  parent: readonly PropertyKey[],
  value: unknown,
  kind: RecordKind,
): Finding {
  const known = listChildKeys(kind, parent);
  const present = typeof value === "object" && value !== null ? Object.keys(value) : [];
  const free = known.filter((word) => !present.includes(word));
  const nearest = findNearest(key, free) ?? findNearest(key, known);
  const elsewhere = nearest === null ? findElsewhere(key, kind) : null;
  let fix = "take it out";
  if (nearest !== null) fix = `write ${nearest}`;
  if (elsewhere !== null) fix = `it belongs under ${elsewhere}: move the line there`;
  const place = parent.length === 0 ? "this record" : formatPath(parent);
  return {
    code: "records/unknown-key",
    path: [...parent, key],
    at: "key",
    found: `${key.slice(0, 60)}, which is no key of ${place.slice(0, 60)}`,
    allowed: listWords(nearest === null ? known : [nearest, ...known.filter((word) => word !== nearest)]),
    fix,
  };
}

const mostWords = 9;

function listWords(words: readonly string[]): string {
  const shown = words.slice(0, mostWords).join(", ");
  return words.length > mostWords ? `${shown} and ${words.length - mostWords} more` : shown;
}

function findElsewhere(key: string, kind: RecordKind): string | null {
  const home = Object.keys(RECORD_KEYS[kind]).find((known) => known.endsWith(`.${key}`));
  return home === undefined ? null : home.slice(0, -key.length - 1).replaceAll("[]", "");
}

/** A word of `starTable.columns` or a name under `conditions` that may not stand there. */
function explainWord(path: readonly PropertyKey[], kind: RecordKind): Finding {
  const word = String(path.at(-1));
  const meaning = findMeaning(kind, path.slice(0, -1));
  const allowed = meaning === null ? "a word of letters and digits" : describeAllowed(meaning);
  const isCondition = path[0] === "conditions";
  return {
    code: "records/unknown-key",
    path,
    at: "key",
    found: showValue(word),
    allowed: isCondition ? "names of letters and digits, at most 40 characters" : allowed,
    fix: isCondition ? "write the name as one word, the way airPressure is" : "use one of these words",
  };
}

function explainMissing(path: readonly PropertyKey[], meaning: KeyMeaning | null, allowed: string): Finding {
  const key = String(path.at(-1));
  const example = meaning === null ? "" : ` ${meaning.example}`;
  return {
    code: "records/missing-key",
    path,
    at: "key",
    found: `no ${formatPath(path)}`,
    allowed,
    fix: `add a line with your own value, such as  ${key}:${example}`,
  };
}

function suggestFix(
  path: readonly PropertyKey[],
  value: unknown,
  meaning: KeyMeaning | null,
): { code: string; fix: string } {
  const wrong = (fix: string) => ({ code: "records/wrong-value", fix });
  if (meaning === null) return wrong("give the value anew");
  if (String(path.at(-1)) === "date") return wrong(suggestDate(String(value)));
  if (meaning.words !== undefined) {
    const nearest = typeof value === "string" ? findNearest(value, meaning.words) : null;
    return wrong(nearest === null ? "write one of these words" : `write ${nearest}`);
  }
  if (typeof value === "number" && meaning.range !== undefined) {
    if (value === 0 && describeAllowed(meaning).includes("not 0")) {
      return { code: "records/out-of-range", fix: `${suggestBare(meaning)}, but not 0` };
    }
    const inList = typeof path.at(-1) === "number" && value === 0;
    const comma = inList ? "; a comma parts items, decimals take a point: [0.1], not [0,1]" : "";
    return { code: "records/out-of-range", fix: `${suggestRange(meaning, value)}${comma}` };
  }
  if (typeof value === "string" && meaning.range !== undefined) {
    const header = /^header:?\s*([\w-]+)$/i.exec(value);
    if (header !== null && describeAllowed(meaning).includes("header:")) {
      return wrong(`write header:${header[1].toUpperCase().slice(0, 8)}`);
    }
    return wrong(suggestNumber(meaning, value) ?? suggestBare(meaning));
  }
  return wrong(suggestShape(value, meaning));
}

function suggestBare(meaning: KeyMeaning): string {
  return `write the number alone${meaning.unit === undefined ? "" : `, in ${meaning.unit}`}`;
}

function suggestShape(value: unknown, meaning: KeyMeaning): string {
  const allowed = describeAllowed(meaning);
  const isPlain = typeof value !== "object";
  if (typeof value === "string" && value.includes("\\")) return "write the path with forward slashes";
  if (isPlain && allowed.startsWith("a list")) return `put it in brackets: [${String(value).slice(0, 60)}]`;
  if (typeof value === "number" || typeof value === "boolean") {
    if (allowed.startsWith("text")) return `put it in quotes: "${value}"`;
  }
  if (typeof value === "string" && allowed.startsWith("text")) {
    return value.trim() === "" ? "give it some text" : "shorten it, on one line, without control characters";
  }
  return `write it like this: ${meaning.example}`;
}
