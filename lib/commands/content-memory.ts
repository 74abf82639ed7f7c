import { createHash } from "node:crypto";
import { mkdirSync, readdirSync, readFileSync, renameSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import type { KnownTrain, RecordMemory } from "../records/known-train.ts";
import { hashCode } from "../site/template-files.ts";
import { measuredFile } from "./measurement-store.ts";

/** Digests of what measuring wrote beside a train's records. */
export interface TrainDigests {
  /** Of measured.json of each test that has one. */
  measured: Record<string, string>;
  /** Of all star cut-outs. */
  crops: string;
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

interface Scan {
  signature: string;
  /** When the last of its files changed, ms. */
  newestMs: number;
}

/**
 * Name, size, inode and times of every file below some folders, as one digest. A file's change of inode time cannot be
 * set back by copying or touching it.
 */
function scanFolders(dirs: readonly string[]): Scan {
  const lines: string[] = [];
  let newestMs = 0;
  const visit = (path: string) => {
    const facts = statSync(path, { throwIfNoEntry: false });
    if (facts === undefined) return;
    if (facts.isDirectory()) {
      for (const name of readdirSync(path).sort()) if (!/^\.|^frames$/.test(name)) visit(join(path, name));
      return;
    }
    newestMs = Math.max(newestMs, facts.mtimeMs, facts.ctimeMs);
    lines.push(`${path} ${facts.size} ${facts.mtimeMs} ${facts.ctimeMs} ${facts.ino}`);
  };
  for (const dir of dirs) visit(dir);
  return { signature: createHash("sha256").update(lines.join("\n")).digest("hex"), newestMs };
}

function digestFiles(files: readonly string[]): string {
  const hash = createHash("sha256");
  for (const file of files) hash.update(readFileSync(file));
  return hash.digest("hex");
}

function digestFolder(dir: string): string {
  const names = readdirSafely(dir).filter((name) => name.endsWith(".png"));
  return digestFiles(names.map((name) => join(dir, name)));
}

function readdirSafely(dir: string): string[] {
  try {
    return readdirSync(dir).sort();
  } catch {
    return [];
  }
}

/**
 * What is known of the trains below a content folder from earlier runs, one small file a train in `folder`. A train whose
 * files are as they were, with the shared records and the reading code as they were, is not read again.
 */
export function openContentMemory(contentDir: string, folder: string, now: number): ContentMemory {
  const shared = scanFolders([join(contentDir, "parts"), join(contentDir, "site.yaml")]);
  const base = `${hashCode(["lib/records"])} ${shared.signature}`;
  const scans = new Map<string, Scan>();
  const read = new Map<string, Remembered | null>();

  const scan = (id: string): Scan => {
    const found = scans.get(id) ?? scanFolders([join(contentDir, "trains", id)]);
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
      const crops = createHash("sha256");
      for (const test of tests) {
        const dir = join(contentDir, "trains", id, "tests", test);
        if (readdirSafely(dir).includes(measuredFile))
          measured[test] = digestFiles([join(dir, measuredFile)]);
        crops.update(`${test} ${digestFolder(join(dir, "crops"))}\n`);
      }
      const digests = { measured, crops: crops.digest("hex") };
      note(id, { digests });
      return digests;
    },
  };
}
