import { createHash } from "node:crypto";
import { existsSync, readFileSync } from "node:fs";
import type { ComparisonEntry, Content, TrainEntry } from "../records/types.ts";
import type { Comparison } from "../report/results.ts";
import type { CodeDigests } from "./code-digests.ts";
import type { ContentMemory, TrainDigests } from "./content-memory.ts";
import { nameMatchedFile } from "./matched-store.ts";

/** Names of a train's results in the build's store: equal names, equal content. */
export interface TrainKeys {
  /** Digests of the stored measurements, by test. */
  measured: Readonly<Record<string, string>>;
  analysis: string;
  results: string;
  /** Of the comparisons it takes part in, in the order of the records. */
  comparisons: string[];
}

export interface BuildKeys {
  trains: Map<string, TrainKeys>;
  comparisons: { id: string; trains: string[]; key: string }[];
  /** Of a train's folder on the site; the comparisons that it takes part in go by what they say. */
  namePage: (id: string, siteCode: string, comparisons: readonly Comparison[]) => string;
}

function digest(...parts: unknown[]): string {
  return createHash("sha256").update(JSON.stringify(parts)).digest("hex").slice(0, 40);
}

/** What the records say of a train, without where the folder lies. */
function listRecords(train: TrainEntry, withSources: boolean): unknown {
  const { dir: _, review, source, partSources, tests, ...rest } = train;
  const own = tests.map(({ dir: __, source: text, ...test }) => (withSources ? { ...test, text } : test));
  return withSources ? { ...rest, review, source, partSources, own } : { ...rest, own };
}

/**
 * The names of all that a build computes, from the records as read and the digests of what was measured. They hold no
 * path, time or order of files, so that the same content gives the same names anywhere.
 */
export function makeBuildKeys(
  content: Content,
  memory: ContentMemory,
  software: string,
  codes: CodeDigests,
): BuildKeys {
  const trains = new Map<string, TrainKeys>();
  const digests = new Map<string, TrainDigests>();
  for (const train of content.trains) {
    const found = memory.digest(
      train.id,
      train.tests.map(({ id }) => id),
    );
    digests.set(train.id, found);
    const analysis = digest("tests", codes.tests, listRecords(train, false), found.measured);
    const site = [content.site, content.siteSource, software];
    const results = digest("results without tests", codes.results, analysis, listRecords(train, true), site);
    trains.set(train.id, { measured: found.measured, analysis, results, comparisons: [] });
  }
  const comparisons = content.comparisons.map((entry) => nameComparison(entry, trains, content, codes));
  for (const { trains: sides, key } of comparisons)
    for (const id of sides) trains.get(id)?.comparisons.push(key);
  const saidDigests = new Map<Comparison, string>();
  const digestSaid = (comparison: Comparison): string => {
    const found = saidDigests.get(comparison) ?? digest(comparison);
    saidDigests.set(comparison, found);
    return found;
  };
  return {
    trains,
    comparisons,
    namePage(id, siteCode, compared) {
      const own = trains.get(id);
      const said = compared.filter(({ a, b }) => a.train === id || b.train === id).map(digestSaid);
      return digest("page", own?.results, said, digests.get(id)?.pictures, content.site, siteCode);
    },
  };
}

/** The words of a train, its author's account among them, have no part in a comparison: only what is analysed has. */
function nameComparison(
  entry: ComparisonEntry,
  trains: ReadonlyMap<string, TrainKeys>,
  content: Pick<Content, "dir" | "site">,
  codes: CodeDigests,
) {
  const { a, b } = entry.record;
  const sides = [...new Set([a.train, b.train])];
  const key = digest(
    "comparison",
    codes.comparisons,
    // A train's sampling and ledger stand in its comparisons.
    codes.results,
    entry.id,
    entry.source,
    sides.map((id) => trains.get(id)?.analysis),
    content.site,
    digestMatched(content.dir, entry.id),
  );
  return { id: entry.id, trains: sides, key };
}

/** Digest of what is stored of a comparison at matched sampling; null where nothing is. */
function digestMatched(contentDir: string, id: string): string | null {
  const file = nameMatchedFile(contentDir, id);
  return existsSync(file) ? createHash("sha256").update(readFileSync(file)).digest("hex") : null;
}
