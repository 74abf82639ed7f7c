import { createHash } from "node:crypto";
import {
  type Dirent,
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { basename, join } from "node:path";
import type { KnownTrain, RecordMemory } from "../records/known-train.ts";
import type { ModuleGraph } from "../site/module-graph.ts";
import { measuredFile } from "./measurement-store.ts";

/** Digests of what measuring wrote beside a train's records. */
export interface TrainDigests {
  /** Of measured.json of each test that has one. */
  measured: Record<string, string>;
  /** Of all star cut-outs, and of the pictures that the author's account may show. */
  pictures: string;
}

export interface ContentMemory extends RecordMemory {
  /** Digests of a train's measurements; files are read only where something in the train's folder changed. */
  digest: (id: string, tests: readonly string[]) => TrainDigests;
}

interface Remembered {
  signature: string;
  known?: KnownTrain;
  digests?: TrainDigests;
}

/** A file changed this shortly before it was looked at may change again within the clock's grain. */
const tooFreshMs = 2000;

/** The module that reads records: other code may read them otherwise. */
export const recordsReader = "lib/records/read-content.ts";

interface Scan {
  signature: string;
  /** When the last of its files changed, ms. */
  newestMs: number;
}

/**
 * Name, size, inode and times of every file below some folders, as one digest. A file's change of inode time cannot be
 * set back by copying or touching it.
 */
function scanPaths(paths: readonly string[]): Scan {
  const lines: string[] = [];
  let newestMs = 0;
  const visit = (path: string, isFolder: boolean) => {
    if (isFolder) {
      for (const entry of listFolder(path)) visit(join(path, entry.name), entry.isDirectory());
      return;
    }
    const facts = statSync(path, { throwIfNoEntry: false });
    if (facts === undefined) return;
    // What a linked folder holds is not looked at here, so nothing is remembered of it either.
    const changedMs = facts.isDirectory() ? Number.POSITIVE_INFINITY : Math.max(facts.mtimeMs, facts.ctimeMs);
    newestMs = Math.max(newestMs, changedMs);
    lines.push(`${path} ${facts.size} ${facts.mtimeMs} ${facts.ctimeMs} ${facts.ino}`);
  };
  for (const path of paths) visit(path, statSync(path, { throwIfNoEntry: false })?.isDirectory() ?? false);
  return { signature: createHash("sha256").update(lines.join("\n")).digest("hex"), newestMs };
}

function digestFiles(files: readonly string[]): string {
  const hash = createHash("sha256");
  for (const file of files) hash.update(`${basename(file)} `).update(readFileSync(file));
  return hash.digest("hex");
}

/** The name by which all that rests on a stored measurement goes. */
export function digestMeasured(bytes: Uint8Array): string {
  return createHash("sha256").update(`${measuredFile} `).update(bytes).digest("hex");
}

/** Pictures below a train's folder, those of its frames left out. */
function listPictures(dir: string): string[] {
  return listFolder(dir).flatMap((entry) => {
    const path = join(dir, entry.name);
    if (entry.isDirectory()) return listPictures(path);
    return /\.(jpe?g|png|webp|tiff?|avif|gif)$/i.test(entry.name) ? [path] : [];
  });
}

function readdirSafely(dir: string): string[] {
  try {
    return readdirSync(dir).sort();
  } catch {
    return [];
  }
}

/** What lies in a folder but hidden things and frames, by name. Links to folders are not followed: they may go round. */
function listFolder(dir: string): Dirent[] {
  try {
    return readdirSync(dir, { withFileTypes: true })
      .filter(({ name }) => !/^\.|^frames$/.test(name))
      .sort((a, b) => (a.name < b.name ? -1 : 1));
  } catch {
    return [];
  }
}

/**
 * What is known of the trains below a content folder from earlier runs, one small file a train in `folder`. A train whose
 * files are as they were, with the shared records and the reading code as they were, is not read again.
 */
export function openContentMemory(
  contentDir: string,
  folder: string,
  now: number,
  graph: Pick<ModuleGraph, "digest">,
): ContentMemory {
  const shared = scanPaths([join(contentDir, "parts"), join(contentDir, "site.yaml")]);
  const base = `${graph.digest(recordsReader)} ${shared.signature}`;
  const scans = new Map<string, Scan>();
  const read = new Map<string, Remembered | null>();

  const scan = (id: string): Scan => {
    const found = scans.get(id) ?? scanPaths([join(contentDir, "trains", id)]);
    scans.set(id, found);
    return found;
  };
  const sign = (id: string) => `${base} ${scan(id).signature}`;
  const isSettled = (id: string) => now - Math.max(shared.newestMs, scan(id).newestMs) > tooFreshMs;

  const recall = (id: string): Remembered | null => {
    const before = read.get(id);
    if (before !== undefined) return before;
    let found: Remembered | null = null;
    try {
      found = JSON.parse(readFileSync(join(folder, `${id}.json`), "utf8")) as Remembered;
    } catch {
      // Never read before, or the file was cut short.
    }
    if (found?.signature !== sign(id)) found = null;
    read.set(id, found);
    return found;
  };

  const note = (id: string, facts: Omit<Remembered, "signature">) => {
    const whole = { ...(recall(id) ?? {}), ...facts, signature: sign(id) };
    read.set(id, whole);
    if (!isSettled(id)) return;
    mkdirSync(folder, { recursive: true });
    const file = join(folder, `${id}.json`);
    writeFileSync(`${file}.${process.pid}.part`, JSON.stringify(whole));
    renameSync(`${file}.${process.pid}.part`, file);
  };

  return {
    find: (id) => recall(id)?.known ?? null,
    keep: (id, known) => note(id, { known }),
    digest(id, tests) {
      const known = recall(id)?.digests;
      if (known !== undefined) return known;
      const measured: Record<string, string> = {};
      const own = join(contentDir, "trains", id);
      const pictures = digestFiles(listPictures(own));
      for (const test of tests) {
        const dir = join(contentDir, "trains", id, "tests", test);
        if (readdirSafely(dir).includes(measuredFile))
          measured[test] = digestMeasured(readFileSync(join(dir, measuredFile)));
      }
      const digests = { measured, pictures };
      note(id, { digests });
      return digests;
    },
  };
}
