import { stat } from "node:fs/promises";
import { join } from "node:path";
import type { Fault } from "../fault.ts";
import { checkTest } from "./check-test.ts";
import { checkTrain } from "./check-train.ts";
import { DEFAULT_TOLERANCES } from "./defaults.ts";
import { placeFinding } from "./finding.ts";
import type { RecordMemory } from "./known-train.ts";
import { type FolderList, listFolder, type Root, showPath } from "./read-folder.ts";
import { readRecord } from "./read-record.ts";
import { readTable } from "./read-table.ts";
import { largestProseBytes, readText } from "./read-text.ts";
import type { RecordDocument } from "./record-document.ts";
import type { PartLibrary } from "./resolve-parts.ts";
import { splitReview } from "./split-review.ts";
import { testSchema } from "./test-schema.ts";
import { trainSchema } from "./train-schema.ts";
import type { ReviewEntry, SourceText, TestEntry, Tolerances, TrainEntry, TrainRecord } from "./types.ts";

export interface TrainsRead {
  /** Those without a fault. */
  trains: TrainEntry[];
  /** Test ids of every train folder, with faults or without. */
  tests: Map<string, string[]>;
  faults: Fault[];
}

/**
 * Reads trains/. `tolerances` are the site's; a train's own go before them. Trains that `memory` knows are not read; `only`: of
 * all folders these.
 */
export async function readTrains(
  root: Root,
  library: PartLibrary,
  tolerances: Tolerances,
  memory: RecordMemory | null = null,
  only: readonly string[] | null = null,
): Promise<TrainsRead> {
  const { ids, faults } = only === null ? await listFolder(root, "trains", "folders") : listNamed(only);
  const trains: TrainEntry[] = [];
  const tests = new Map<string, string[]>();
  const names = new Map<string, string>();
  for (const id of ids) {
    const known = memory?.find(id) ?? null;
    // A name met before is told with its place, which takes the text.
    if (known !== null && !names.has(known.entry.record.name.toLowerCase())) {
      names.set(known.entry.record.name.toLowerCase(), id);
      tests.set(id, known.tests);
      trains.push({ ...known.entry, dir: join(root.dir, "trains", id) });
      continue;
    }
    const faultsBefore = faults.length;
    const name = `trains/${id}/train.yaml`;
    const read = await readRecord<TrainRecord>(root, library, {
      kind: "train",
      name,
      schema: trainSchema,
      check: checkTrain,
    });
    faults.push(...(await explainMissingRecord(root, name, read.faults, `npm run new -- train ${id}`)));
    const twin = read.record === null ? undefined : names.get(read.record.name.toLowerCase());
    if (twin !== undefined && read.document !== null)
      faults.push(describeTwin(twin, read.record?.name, read.document));
    if (read.record !== null) names.set(read.record.name.toLowerCase(), id);
    const review = await readReview(root, `trains/${id}/review.md`, faults);
    const inner = await readTests(root, library, id, read.record);
    faults.push(...inner.faults);
    tests.set(id, inner.ids);
    if (read.record === null || read.source === null) continue;
    const { record, source } = read;
    record.tolerances = { ...DEFAULT_TOLERANCES, ...tolerances, ...record.tolerances };
    const partSources = [...new Set([...read.partSources, ...inner.partSources])];
    trains.push({
      id,
      dir: join(root.dir, "trains", id),
      record,
      source,
      partSources,
      review,
      tests: inner.tests,
    });
    if (faults.length === faultsBefore)
      memory?.keep(id, { entry: trains[trains.length - 1], tests: inner.ids });
  }
  return { trains, tests, faults };
}

const listNamed = (ids: readonly string[]): FolderList => ({ ids: [...ids], faults: [] });

function describeTwin(twin: string, name: string | undefined, document: RecordDocument): Fault {
  return placeFinding(
    {
      code: "records/duplicate-name",
      path: ["name"],
      at: "value",
      found: `"${name?.slice(0, 60)}", which is also the name of ${twin}`,
      allowed: "a name of its own for each train: readers tell their pages apart by it",
      fix: "say in the name what differs, the corrector or the camera for instance",
    },
    document,
  );
}

/** A folder without its record gets a message that says how to make one. */
async function explainMissingRecord(
  root: Root,
  name: string,
  faults: Fault[],
  command: string,
): Promise<Fault[]> {
  if (await exists(join(root.dir, name))) return faults;
  const file = showPath(root, name);
  const fix = `write it (${command} makes one to start from), or begin the folder's name with _ to leave it alone`;
  return [
    { code: "records/missing-record", file, found: "no such file", allowed: "a record in each folder", fix },
  ];
}

async function exists(path: string): Promise<boolean> {
  return stat(path).then(
    () => true,
    () => false,
  );
}

async function readReview(root: Root, name: string, faults: Fault[]): Promise<ReviewEntry | null> {
  if (!(await exists(join(root.dir, name)))) return null;
  const shown = showPath(root, name);
  const read = await readText(join(root.dir, name), name, shown, largestProseBytes);
  if (read.fault !== null) {
    faults.push(read.fault);
    return null;
  }
  const head = splitReview(read.source.text, shown);
  faults.push(...head.faults);
  return head.record === null ? null : { ...read.source, record: head.record, markdown: head.markdown };
}

interface TestsRead {
  ids: string[];
  tests: TestEntry[];
  partSources: SourceText[];
  faults: Fault[];
}

async function readTests(
  root: Root,
  library: PartLibrary,
  train: string,
  trainRecord: TrainRecord | null,
): Promise<TestsRead> {
  const parent = `trains/${train}/tests`;
  const { ids, faults } = await listFolder(root, parent, "folders");
  const tests: TestEntry[] = [];
  const partSources: SourceText[] = [];
  for (const id of ids) {
    const folder = `${parent}/${id}`;
    const name = `${folder}/test.yaml`;
    const setting = { id, folder, train: trainRecord };
    const read = await readRecord(root, library, {
      kind: "test",
      name,
      schema: testSchema,
      check: (test) => checkTest(test, setting),
    });
    faults.push(
      ...(await explainMissingRecord(root, name, read.faults, `npm run new -- test ${train} DATE`)),
    );
    partSources.push(...read.partSources);
    const { record, source, document } = read;
    if (record === null || source === null || document === null) continue;
    const at = { root, folder, document };
    const stars = await readTable(at, "starTable", record.starTable);
    const guiding = await readTable(at, "guiding", record.guiding);
    const wind = await readTable(at, "wind", record.wind);
    const missing = [stars, guiding, wind].flatMap(({ fault }) => (fault === null ? [] : [fault]));
    faults.push(...missing);
    if (missing.length > 0) continue;
    tests.push({
      id,
      dir: join(root.dir, folder),
      record,
      source,
      starTableText: stars.text,
      guidingText: guiding.text,
      windText: wind.text,
    });
  }
  return { ids, tests, partSources, faults };
}
