import { listNearest } from "./check-comparison.ts";
import type { PartKind } from "./describe-keys.ts";
import { type Finding, showValue } from "./finding.ts";
import type { SourceText } from "./types.ts";

/** A part of content/parts as written. */
export interface LibraryPart {
  data: Record<string, unknown>;
  /** False where its own file has faults with it; they are told there, once. */
  sound: boolean;
  source: SourceText;
}

export type PartLibrary = Record<PartKind, Map<string, LibraryPart>>;

export function makePartLibrary(): PartLibrary {
  return {
    telescopes: new Map(),
    correctors: new Map(),
    cameras: new Map(),
    filters: new Map(),
    rings: new Map(),
  };
}

/** A record with its parts in place of their ids. */
export interface Resolved {
  data: unknown;
  findings: Finding[];
  /** Paths whose part is unknown or unsound: nothing more is to be said about what is below them. */
  blocked: PropertyKey[][];
  sources: SourceText[];
}

type Mapping = Record<string, unknown>;

const isMapping = (value: unknown): value is Mapping =>
  typeof value === "object" && value !== null && !Array.isArray(value);

const partOf: Record<string, PartKind> = {
  telescope: "telescopes",
  corrector: "correctors",
  camera: "cameras",
  filter: "filters",
};

/**
 * Puts the parts of content/parts in the place of their ids: `camera: heron-26` and `camera: { id: heron-26 }` alike;
 * keys beside `id` go before the part's own. Pure; the record given is not changed.
 */
export function resolveParts(record: unknown, library: PartLibrary): Resolved {
  const resolved: Resolved = { data: record, findings: [], blocked: [], sources: [] };
  if (!isMapping(record)) return resolved;
  const data: Mapping = { ...record };
  resolved.data = data;
  for (const [key, kind] of Object.entries(partOf)) {
    if (!Object.hasOwn(data, key)) continue;
    // "none" is what people write where there is none; only an optional part may be.
    if (data[key] === "none" && !library[kind].has("none") && (key === "corrector" || key === "filter")) {
      delete data[key];
    } else data[key] = placePart(data[key], [key], kind, library, resolved);
  }
  if (Array.isArray(data.stack)) {
    data.stack = data.stack.map((item, index) =>
      placePart(item, ["stack", index], "rings", library, resolved),
    );
  }
  return resolved;
}

function placePart(
  value: unknown,
  path: PropertyKey[],
  kind: PartKind,
  library: PartLibrary,
  resolved: Resolved,
): unknown {
  const byId = isMapping(value) && Object.hasOwn(value, "id");
  if (typeof value !== "string" && !byId) return value;
  const id = byId ? value.id : value;
  const part = typeof id === "string" ? library[kind].get(id) : undefined;
  if (part === undefined) {
    resolved.blocked.push(path);
    const known = Array.from(library[kind].keys());
    resolved.findings.push({
      code: "records/unknown-part",
      path: byId ? [...path, "id"] : path,
      at: "value",
      found: `${showValue(id)}, which is no id under ${kind} in parts/*.yaml`,
      allowed: listNearest(String(id), known, `no ${kind} are in parts/ yet: a mapping written out here`),
      fix:
        known.length === 0 ? "write the part out here" : "write one of these ids, or write the part out here",
    });
    return undefined;
  }
  if (!resolved.sources.includes(part.source)) resolved.sources.push(part.source);
  if (!part.sound) {
    resolved.blocked.push(path);
    return undefined;
  }
  if (!byId) return part.data;
  const { id: _, ...own } = value;
  return { ...part.data, ...own };
}
