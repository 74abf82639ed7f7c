import { type Document, isAlias, isMap, isScalar, isSeq, LineCounter, type Node, parseDocument } from "yaml";
import type { Fault } from "../fault.ts";
import { explainYamlError } from "./explain-yaml.ts";
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
const deepest = 20;
const mostErrors = 20;

/**
 * Reads a YAML record: core schema of YAML 1.2 only (so `2026-10-03` is text and `no` is a word), no tags, aliases
 * expanded within a bound, duplicate keys refused. Never throws; `file` is only for the faults.
 */
export function readDocument(text: string, file: string): RecordDocument {
  const lines = new LineCounter();
  const document = parseDocument(text, {
    lineCounter: lines,
    schema: "core",
    resolveKnownTags: false,
    uniqueKeys: true,
    prettyErrors: false,
    logLevel: "error",
  });
  const placeAt = (offset: number): Place => {
    const { line, col } = lines.linePos(offset);
    return { line, column: col };
  };
  const faults: Fault[] = [];
  const seen = new Set<number>();
  for (const error of document.errors) {
    const { line, column } = placeAt(error.pos[0]);
    // One slip makes a parser complain several times over; the first complaint of a line is the one that helps.
    if (seen.has(line) || faults.length >= mostErrors) continue;
    seen.add(line);
    faults.push(
      error.code === "DUPLICATE_KEY"
        ? describeDuplicate(text, file, error.pos, { line, column })
        : { code: "records/broken-yaml", file, line, column, ...explainYamlError(error.code, error.message) },
    );
  }
  for (const warning of document.warnings) {
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

function quote(text: string): string {
  return `"${text.length > 60 ? `${text.slice(0, 60)}…` : text}"`;
}

function describeDuplicate(text: string, file: string, [from, to]: [number, number], place: Place): Fault {
  const key = /^["']?([^:"'\s]{1,60})/.exec(text.slice(from, Math.max(to, from + 60)))?.[1] ?? "a key";
  return {
    code: "records/duplicate-key",
    file,
    ...place,
    key,
    found: `${key} for the second time in the same mapping`,
    allowed: "each key once",
    fix: "take one of the two lines out",
  };
}

function convertDocument(
  document: Document,
  faults: Fault[],
  file: string,
  placeAt: (offset: number) => Place,
): unknown {
  let nodes = 0;
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
    if (depth > deepest) {
      const allowed = `at most ${deepest} steps inwards`;
      return stop(
        here,
        "records/too-deep",
        "mappings or lists within each other without end",
        allowed,
        "take them apart",
      );
    }
    if (isAlias(here)) {
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
      for (const { key, value } of here.items) {
        if (!isScalar(key)) {
          const found = "a list or mapping in place of a key";
          return stop(here, "records/broken-yaml", found, "a word as key", "put text with { or [ in quotes");
        }
        const plain = convert(value, depth + 1);
        // Plain assignment would let a key named __proto__ through unseen.
        if (plain !== null && plain !== undefined) {
          Object.defineProperty(entries, String(key.value), {
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
