import { stat } from "node:fs/promises";
import { join, resolve } from "node:path";
import type { Fault } from "../fault.ts";
import { checkComparison } from "./check-comparison.ts";
import { DEFAULT_SITE, DEFAULT_TOLERANCES } from "./defaults.ts";
import type { RecordMemory } from "./known-train.ts";
import { listFolder, type Root } from "./read-folder.ts";
import { readParts } from "./read-parts.ts";
import { readRecord } from "./read-record.ts";
import { readTrains } from "./read-trains.ts";
import { makePartLibrary, type PartLibrary } from "./resolve-parts.ts";
import { comparisonSchema, siteSchema } from "./site-schema.ts";
import { sortFaults } from "./sort-faults.ts";
import type { ComparisonEntry, Content, SiteRecord, SourceText, TrainEntry } from "./types.ts";

/**
 * Reads every record under a content folder. `content` holds the records without a fault, parts in place of their ids
 * and defaults filled in; `faults` holds every fault of every file, by file, line and column. Never throws for what the
 * user wrote or left out. `memory` spares the reading of trains that have not changed.
 */
export async function readContent(
  contentDir: string,
  memory: RecordMemory | null = null,
): Promise<{ content: Content; faults: Fault[] }> {
  const root: Root = { dir: resolve(contentDir), shown: contentDir };
  const site: SiteRecord = { ...DEFAULT_SITE, tolerances: { ...DEFAULT_TOLERANCES } };
  const content: Content = { dir: root.dir, site, siteSource: null, trains: [], comparisons: [] };
  const isFolder = await stat(root.dir).then(
    (facts) => facts.isDirectory(),
    () => false,
  );
  if (!isFolder) return { content, faults: [describeNoContent(contentDir, "no such folder")] };

  const faults: Fault[] = [];
  const { library, faults: partFaults } = await readParts(root);
  faults.push(...partFaults);
  const siteRead = await readSite(root);
  faults.push(...siteRead.faults);
  content.site = siteRead.site;
  content.siteSource = siteRead.source;
  const trains = await readTrains(root, library, content.site.tolerances, memory);
  faults.push(...trains.faults);
  content.trains = trains.trains;
  if (trains.tests.size === 0 && trains.faults.length === 0) {
    faults.push(describeNoContent(contentDir, "no train under trains/"));
  }
  const comparisons = await readComparisons(root, library, trains.tests, trains.trains);
  faults.push(...comparisons.faults);
  content.comparisons = comparisons.entries;
  return { content, faults: sortFaults(faults) };
}

/**
 * Reads the records of some trains so that `memory` knows them; what is wrong with one is told by whoever reads the whole
 * content, as that one is then not known.
 */
export async function learnTrains(
  contentDir: string,
  ids: readonly string[],
  memory: RecordMemory,
): Promise<void> {
  const root: Root = { dir: resolve(contentDir), shown: contentDir };
  const { library } = await readParts(root);
  const { site } = await readSite(root);
  await readTrains(root, library, site.tolerances, memory, ids);
}

function describeNoContent(contentDir: string, found: string): Fault {
  return {
    code: "records/no-content",
    file: contentDir,
    found,
    allowed: "a content folder with at least one train",
    fix: "run  npm run new -- train NAME  to make a first record, or name the right folder with --content",
  };
}

async function readSite(
  root: Root,
): Promise<{ site: SiteRecord; source: SourceText | null; faults: Fault[] }> {
  const site: SiteRecord = { ...DEFAULT_SITE, tolerances: { ...DEFAULT_TOLERANCES } };
  const isThere = await stat(join(root.dir, "site.yaml")).then(
    () => true,
    () => false,
  );
  if (!isThere) return { site, source: null, faults: [] };
  const read = await readRecord<SiteRecord>(root, makePartLibrary(), {
    kind: "site",
    name: "site.yaml",
    schema: siteSchema,
    check: () => [],
  });
  if (read.record === null) {
    // A file of comments alone says nothing against the defaults.
    if (read.document?.data === null) return { site, source: read.source, faults: [] };
    return { site, source: read.source, faults: read.faults };
  }
  const tolerances = { ...DEFAULT_TOLERANCES, ...read.record.tolerances };
  return { site: { ...read.record, tolerances }, source: read.source, faults: [] };
}

async function readComparisons(
  root: Root,
  library: PartLibrary,
  tests: ReadonlyMap<string, readonly string[]>,
  trains: readonly TrainEntry[],
): Promise<{ entries: ComparisonEntry[]; faults: Fault[] }> {
  const { ids, faults } = await listFolder(root, "comparisons", "records");
  const entries: ComparisonEntry[] = [];
  for (const id of ids) {
    const read = await readRecord(root, library, {
      kind: "comparison",
      name: `comparisons/${id}.yaml`,
      schema: comparisonSchema,
      check: (record) => checkComparison(record, tests),
    });
    faults.push(...read.faults);
    const { record, source } = read;
    if (record === null || source === null) continue;
    // A side whose own record has faults is told there; the comparison waits for it.
    const isWhole = [record.a, record.b].every(({ train, test }) => {
      const entry = trains.find((other) => other.id === train);
      return entry !== undefined && (test === undefined || entry.tests.some((other) => other.id === test));
    });
    if (isWhole) entries.push({ id, record, source });
  }
  return { entries, faults };
}
