import {
  type Document,
  isAlias,
  isMap,
  isScalar,
  isSeq,
  LineCounter,
  type Node,
  parseDocument,
  visit,
  type YAMLError,
} from "yaml";
import type { Fault } from "../fault.ts";
import { explainYamlError } from "./explain-yaml.ts";
import { deepestNesting, findDeepNesting } from "./find-deep-nesting.ts";
import { locateKey, type Place } from "./locate-key.ts";

/** A record's text as plain data, with the way back to line and column. */
export interface RecordDocument {
  file: string;
  /** Mappings, lists, text, numbers, booleans; keys without a value are left out. Undefined where it cannot be read. */
  data: unknown;
  faults: Fault[];
  /** Where a key path stands; the nearest place above it where it does not exist. */
  locate(path: readonly PropertyKey[], at: "key" | "value"): Place;
}

/** A record has some 80 keys; the bounds stop a hostile one without touching an honest one. */
const mostNodes = 20_000;
const mostErrors = 20;
/** Errors that say that a line stands too far in or out, or runs on into the next. */
const indentErrors = new Set(["TAB_AS_INDENT", "BAD_INDENT", "MULTILINE_IMPLICIT_KEY"]);
/** Looking up an alias costs a walk through the document. */
const mostAliases = 100;

/**
 * Reads a YAML record: core schema of YAML 1.2 only (so `2026-10-03` is text and `no` is a word), no tags, aliases
 * expanded within a bound, duplicate keys refused. Never throws; `file` is only for the faults.
 */
export function readDocument(text: string, file: string): RecordDocument {
  const deep = findDeepNesting(text);
  if (deep !== null) return refuseDeep(text, file, deep);
  const lines = new LineCounter();
  // Duplicate keys are looked for below: the parser compares every key with every other, minutes for a hostile record.
  const document = parseDocument(text, {
    lineCounter: lines,
    schema: "core",
    resolveKnownTags: false,
    uniqueKeys: false,
    prettyErrors: false,
    logLevel: "error",
  });
  const placeAt = (offset: number): Place => {
    const { line, col } = lines.linePos(offset);
    return { line, column: col };
  };
  const faults: Fault[] = [];
  const seen = new Set<number>();
  let isAskew = false;
  for (const error of document.errors.slice(0, mostErrors * 5)) {
    const { line, column } = placeAt(findOpening(document, error));
    // One slip makes a parser complain several times over; the first complaint of a line is the one that helps.
    // Behind a line set in wrongly the parser stumbles over lines that are sound; further tabs are told all the same.
    const isTold = !isAskew || error.code === "TAB_AS_INDENT";
    isAskew ||= indentErrors.has(error.code);
    if (!isTold || seen.has(line) || faults.length >= mostErrors) continue;
    seen.add(line);
    const explanation = explainYamlError(error.code, error.message);
    faults.push({ code: "records/broken-yaml", file, line, column, ...explanation });
  }
  for (const warning of document.warnings.slice(0, mostErrors)) {
    faults.push({
      code: "records/tag",
      file,
      ...placeAt(warning.pos[0]),
      found: `${quote(text.slice(warning.pos[0], warning.pos[1]))}, a tag`,
      allowed: "plain text, numbers, lists and mappings",
      fix: "take the word with the exclamation mark out, or put it in quotes",
    });
  }
  const broken = faults.some((fault) => fault.code === "records/broken-yaml");
  const data = broken ? undefined : convertDocument(document, faults, file, placeAt);
  return { file, data, faults, locate: (path, at) => locateKey(document, path, at, placeAt) };
}

function refuseDeep(text: string, file: string, offset: number): RecordDocument {
  const before = text.slice(0, offset).split("\n");
  const place = { line: before.length, column: before[before.length - 1].length + 1 };
  const found = "mappings or lists within each other without end";
  const allowed = `at most ${deepestNesting} steps inwards`;
  const fault = {
    code: "records/too-deep",
    file,
    ...place,
    found,
    allowed,
    fix: "close the brackets before",
  };
  return { file, data: undefined, faults: [fault], locate: () => place };
}

/** A quote that is never closed shows at the end of the text; what helps is where it was opened. */
function findOpening(document: Document, error: YAMLError): number {
  let opening = error.pos[0];
  if (error.code !== "MISSING_CHAR") return opening;
  visit(document, {
    Scalar(_key, node) {
      const isQuoted = node.type === "QUOTE_SINGLE" || node.type === "QUOTE_DOUBLE";
      if (isQuoted && node.range && node.range[0] < error.pos[0] && node.range[1] >= error.pos[0]) {
        opening = node.range[0];
      }
    },
  });
  return opening;
}

function quote(text: string): string {
  return `"${text.length > 60 ? `${text.slice(0, 60)}…` : text}"`;
}

function describeDuplicate(word: string, file: string, place: Place): Fault {
  const key = word.slice(0, 60);
  const found = `${key} for the second time in the same mapping`;
  const fix = "take one of the two lines out";
  return { code: "records/duplicate-key", file, ...place, key, found, allowed: "each key once", fix };
}

function convertDocument(
  document: Document,
  faults: Fault[],
  file: string,
  placeAt: (offset: number) => Place,
): unknown {
  let nodes = 0;
  let aliases = 0;
  let stopped = false;
  const stop = (node: Node | null, code: string, found: string, allowed: string, fix: string): undefined => {
    if (!stopped) faults.push({ code, file, ...placeAt(node?.range?.[0] ?? 0), found, allowed, fix });
    stopped = true;
    return undefined;
  };
  const convert = (node: unknown, depth: number): unknown => {
    if (stopped) return undefined;
    const here = node as Node | null;
    if (++nodes > mostNodes) {
      const found = `more than ${mostNodes} values once every *alias is written out`;
      return stop(
        here,
        "records/too-large",
        found,
        "the few keys of a record",
        "write the values out, or fewer of them",
      );
    }
    if (depth > deepestNesting) {
      const allowed = `at most ${deepestNesting} steps inwards`;
      return stop(
        here,
        "records/too-deep",
        "mappings or lists within each other without end",
        allowed,
        "take them apart",
      );
    }
    if (isAlias(here)) {
      if (++aliases > mostAliases) {
        const found = `more than ${mostAliases} aliases (*name)`;
        return stop(here, "records/too-large", found, "a few at most", "write the values out");
      }
      const target = here.resolve(document);
      if (target !== undefined) return convert(target, depth + 1);
      const found = `*${here.source.slice(0, 60)}, which no &${here.source.slice(0, 60)} names before it`;
      return stop(
        here,
        "records/alias",
        found,
        "a name given with & above",
        "write the value out, or put it in quotes",
      );
    }
    if (isSeq(here)) return here.items.map((item) => convert(item, depth + 1));
    if (isMap(here)) {
      const entries: Record<string, unknown> = {};
      const seen = new Set<string>();
      for (const { key, value } of here.items) {
        if (!isScalar(key)) {
          const found = "a list or mapping in place of a key";
          return stop(here, "records/broken-yaml", found, "a word as key", "put text with { or [ in quotes");
        }
        const word = String(key.value);
        if (seen.has(word) && faults.length < mostErrors)
          faults.push(describeDuplicate(word, file, placeAt(key.range?.[0] ?? 0)));
        seen.add(word);
        const plain = convert(value, depth + 1);
        // Plain assignment would let a key named __proto__ through unseen.
        if (plain !== null && plain !== undefined) {
          Object.defineProperty(entries, word, {
            value: plain,
            enumerable: true,
            configurable: true,
          });
        }
      }
      return entries;
    }
    return isScalar(here) ? here.value : null;
  };
  const data = convert(document.contents, 0);
  return stopped ? undefined : data;
}
