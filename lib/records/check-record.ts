import type { z } from "zod";
import type { Fault } from "../fault.ts";
import type { RecordKind } from "./describe-keys.ts";
import { explainIssue } from "./explain-issue.ts";
import { type Finding, placeFinding, showValue } from "./finding.ts";
import type { RecordDocument } from "./record-document.ts";

const mostFindings = 100;

/** The record, where it has no fault; every fault of it, where it has. */
export interface Checked<T> {
  record: T | null;
  faults: Fault[];
}

export interface CheckRequest<T> {
  kind: RecordKind;
  document: RecordDocument;
  /** The document's data, with parts put in place. */
  data: unknown;
  schema: z.ZodType<T>;
  /** Contradictions that the schema cannot see; called only where it finds nothing. */
  check: (record: T) => Finding[];
  /** Path of `data` within the document. */
  prefix?: readonly PropertyKey[];
  /** Paths of which nothing more is to be said. */
  blocked?: readonly (readonly PropertyKey[])[];
}

/** Checks one record against its schema and for contradictions; every fault with its place. */
export function checkRecord<T>(request: CheckRequest<T>): Checked<T> {
  const { kind, document, data, schema, check, prefix = [], blocked = [] } = request;
  if (typeof data !== "object" || data === null || Array.isArray(data)) {
    const finding: Finding = {
      code: data === null ? "records/empty" : "records/wrong-value",
      path: prefix,
      at: "value",
      found: data === null ? "a record without a single key" : showValue(data),
      allowed: "a mapping: one 'key: value' a line",
      fix: "write the keys of the record below each other; npm run new writes a record to start from",
    };
    return { record: null, faults: [placeFinding(finding, document)] };
  }
  const result = schema.safeParse(data);
  let findings: Finding[];
  if (result.success) findings = check(result.data);
  else {
    findings = result.error.issues
      .flatMap((issue) => explainIssue(issue, data, kind, prefix))
      .filter(({ path }) => !blocked.some((stop) => stop.every((step, depth) => path[depth] === step)))
      .slice(0, mostFindings);
  }
  // A list that is too long and has bad items is told once for each place and kind.
  const faults = new Map<string, Fault>();
  for (const finding of findings) {
    const fault = placeFinding(finding, document);
    const name = `${fault.code} ${fault.key ?? ""} ${fault.line}:${fault.column}`;
    if (!faults.has(name)) faults.set(name, fault);
  }
  const isSound = result.success && faults.size === 0;
  return { record: isSound ? result.data : null, faults: [...faults.values()] };
}
