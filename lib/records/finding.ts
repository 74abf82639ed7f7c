import type { Fault } from "../fault.ts";
import type { RecordDocument } from "./record-document.ts";

/** A fault before its place in the file is looked up. */
export interface Finding {
  code: string;
  path: readonly PropertyKey[];
  /** Whether the key or its value is to be pointed at. */
  at: "key" | "value";
  found: string;
  allowed: string;
  fix: string;
}

/** "stack[1].lengthMm" of a path. */
export function formatPath(path: readonly PropertyKey[]): string {
  return path.reduce<string>((text, step) => {
    if (typeof step === "number") return `${text}[${step}]`;
    return text === "" ? String(step) : `${text}.${String(step)}`;
  }, "");
}

/** The fault at its line and column. */
export function placeFinding(finding: Finding, document: RecordDocument): Fault {
  const { code, path, at, found, allowed, fix } = finding;
  const key = path.length === 0 ? {} : { key: formatPath(path) };
  return { code, file: document.file, ...document.locate(path, at), ...key, found, allowed, fix };
}

const longestShown = 60;

/** A value as it may be shown within a sentence. */
export function showValue(value: unknown): string {
  if (value === undefined || value === null) return "nothing";
  if (typeof value === "string") {
    return value.length > longestShown
      ? `"${value.slice(0, longestShown)}…" (${value.length} characters)`
      : `"${value}"`;
  }
  if (Array.isArray(value)) {
    return value.length === 0
      ? "an empty list"
      : `a list of ${value.length}, the first ${showInner(value[0])}`;
  }
  if (typeof value === "object") {
    const keys = Object.keys(value);
    const shown = keys.slice(0, 4).join(", ").slice(0, longestShown);
    return keys.length === 0 ? "an empty mapping" : `a mapping with ${shown}`;
  }
  return String(value);
}

function showInner(value: unknown): string {
  return typeof value === "object" && value !== null ? "not a plain value" : showValue(value);
}

/** The value at a path of plain data, undefined where there is none. */
export function readPath(data: unknown, path: readonly PropertyKey[]): unknown {
  let value = data;
  for (const step of path) {
    if (typeof value !== "object" || value === null || !Object.hasOwn(value, step)) return undefined;
    value = (value as Record<PropertyKey, unknown>)[step];
  }
  return value;
}
