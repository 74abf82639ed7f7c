import { join } from "node:path";
import type { z } from "zod";
import type { Fault } from "../fault.ts";
import { checkRecord } from "./check-record.ts";
import type { RecordKind } from "./describe-keys.ts";
import { type Finding, placeFinding } from "./finding.ts";
import { type Root, showPath } from "./read-folder.ts";
import { largestRecordBytes, readText } from "./read-text.ts";
import { type RecordDocument, readDocument } from "./record-document.ts";
import { type PartLibrary, resolveParts } from "./resolve-parts.ts";
import type { SourceText } from "./types.ts";

export interface RecordRequest<T> {
  kind: RecordKind;
  /** Relative to the content folder, forward slashes. */
  name: string;
  schema: z.ZodType<T>;
  /** Contradictions; `raw` is the record with its parts in place, as written. */
  check: (record: T, raw: unknown) => Finding[];
}

/** A record's file; parts of it are null as far as it has faults. */
export interface RecordRead<T> {
  record: T | null;
  source: SourceText | null;
  document: RecordDocument | null;
  partSources: SourceText[];
  faults: Fault[];
}

/** Reads and checks one record's file. Never throws for what is in it. */
export async function readRecord<T>(
  root: Root,
  library: PartLibrary,
  request: RecordRequest<T>,
): Promise<RecordRead<T>> {
  const shown = showPath(root, request.name);
  const read = await readText(join(root.dir, request.name), request.name, shown, largestRecordBytes);
  if (read.fault !== null) {
    return { record: null, source: null, document: null, partSources: [], faults: [read.fault] };
  }
  const document = readDocument(read.source.text, shown);
  const faults = [...document.faults];
  const failed = { record: null, source: read.source, document, partSources: [] as SourceText[], faults };
  if (document.data === undefined) return failed;
  const { data, findings, blocked, sources } = resolveParts(document.data, library);
  const { record, ...checked } = checkRecord({
    kind: request.kind,
    document,
    data,
    schema: request.schema,
    check: (found) => request.check(found, data),
    blocked,
  });
  faults.push(...findings.map((finding) => placeFinding(finding, document)), ...checked.faults);
  const isSound = faults.length === 0 && blocked.length === 0;
  return { ...failed, record: isSound ? record : null, partSources: sources };
}
