import { join } from "node:path";
import { z } from "zod";
import type { Fault } from "../fault.ts";
import { findNearest } from "../maths/edit-distance.ts";
import { checkPart } from "./check-parts.ts";
import { checkRecord } from "./check-record.ts";
import { PART_KINDS, type PartKind } from "./describe-keys.ts";
import { type Finding, placeFinding, showValue } from "./finding.ts";
import { ID_ALLOWED, isSafeId, makeSafeId } from "./name-id.ts";
import { PART_SCHEMAS } from "./part-schemas.ts";
import { listFolder, type Root, showPath } from "./read-folder.ts";
import { largestRecordBytes, readText } from "./read-text.ts";
import { type RecordDocument, readDocument } from "./record-document.ts";
import { makePartLibrary, type PartLibrary } from "./resolve-parts.ts";
import type { SourceText } from "./types.ts";

const kinds = Object.keys(PART_KINDS) as PartKind[];

/** All parts of content/parts by kind and id, and every fault of these files. */
export async function readParts(root: Root): Promise<{ library: PartLibrary; faults: Fault[] }> {
  const library = makePartLibrary();
  const { ids, faults } = await listFolder(root, "parts", "records");
  for (const id of ids) {
    const name = `parts/${id}.yaml`;
    const read = await readText(join(root.dir, name), name, showPath(root, name), largestRecordBytes);
    if (read.fault !== null) faults.push(read.fault);
    else faults.push(...addParts(read.source, showPath(root, name), library));
  }
  return { library, faults };
}

/** Adds the parts of one file to `library`; returns the faults of the file. */
function addParts(source: SourceText, shown: string, library: PartLibrary): Fault[] {
  const document = readDocument(source.text, shown);
  const faults = [...document.faults];
  // A file of comments alone is one whose parts are still to come.
  if (document.data === undefined || document.data === null) return faults;
  const outer = checkRecord({
    kind: "parts",
    document,
    data: document.data,
    schema: z.record(z.string(), z.unknown()),
    check: () => [],
  });
  faults.push(...outer.faults);
  for (const [kind, parts] of Object.entries(outer.record ?? {})) {
    const known = kinds.find((other) => other === kind);
    if (known === undefined) faults.push(placeFinding(describeKind(kind), document));
    else if (typeof parts !== "object" || parts === null || Array.isArray(parts)) {
      faults.push(placeFinding(describeNoParts(known, parts), document));
    } else {
      for (const [id, part] of Object.entries(parts)) {
        faults.push(...addPart(known, id, part, source, document, library));
      }
    }
  }
  return faults;
}

function describeKind(kind: string): Finding {
  const nearest = findNearest(kind, kinds);
  return {
    code: "records/unknown-key",
    path: [kind],
    at: "key",
    found: `${kind.slice(0, 60)}, which is no kind of part`,
    allowed: kinds.join(", "),
    fix: nearest === null ? "put each part, by its id, under one of these" : `write ${nearest}`,
  };
}

function describeNoParts(kind: PartKind, parts: unknown): Finding {
  const example = `${kind}: { my-part: { ... } }`;
  return {
    code: "records/wrong-value",
    path: [kind],
    at: "value",
    found: showValue(parts),
    allowed: "a mapping from ids to parts",
    fix: `put each part under an id of its own:  ${example}`,
  };
}

function addPart(
  kind: PartKind,
  id: string,
  part: unknown,
  source: SourceText,
  document: RecordDocument,
  library: PartLibrary,
): Fault[] {
  const path = [kind, id];
  const naming = checkPartId(id, path, Array.from(library[kind].keys()));
  if (naming !== null) return [placeFinding(naming, document)];
  const { record, faults } = checkRecord<unknown>({
    kind: "parts",
    document,
    data: part,
    schema: PART_SCHEMAS[kind],
    check: (checked) => checkPart(kind, checked, part, path),
    prefix: path,
  });
  library[kind].set(id, { data: part as Record<string, unknown>, sound: record !== null, source });
  return faults;
}

function checkPartId(id: string, path: readonly string[], taken: readonly string[]): Finding | null {
  const twin = taken.find((other) => other.toLowerCase() === id.toLowerCase());
  if (twin !== undefined) {
    return {
      code: "records/duplicate-id",
      path,
      at: "key",
      found: twin === id ? `${id}, which another file of parts/ has already` : `${id} beside ${twin}`,
      allowed: "each id once among the parts of a kind, letter case aside",
      fix: "rename one of the two, and the records that name it",
    };
  }
  if (isSafeId(id)) return null;
  const safe = makeSafeId(id);
  return {
    code: "records/unsafe-name",
    path,
    at: "key",
    found: showValue(id),
    allowed: ID_ALLOWED,
    fix: safe === null ? "give it another id" : `write ${safe}; its name key may say it as you like`,
  };
}
