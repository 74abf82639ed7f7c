import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, renameSync, rmSync, utimesSync, writeFileSync } from "node:fs";
import { readdir, rm, stat } from "node:fs/promises";
import { join } from "node:path";
import { deserialize, serialize } from "node:v8";
import { threadId } from "node:worker_threads";
import type { Memory } from "../maths/remember.ts";
import { getResidentMemory } from "./resident-memory.ts";

/** Longest time that something computed is kept without being used. */
const longestKeptMs = 60 * 24 * 3600 * 1000;

/** A name for a file of the store: of the thing, and of the code that computed it. */
function nameFile(folder: string, codes: ModuleCodes, name: string, key: string): string {
  const [module] = name.split("#");
  if (!Object.hasOwn(codes, module)) throw new Error(`"${name}" names no module whose code could be told`);
  const code = codes[module];
  return join(folder, createHash("sha256").update(`${name} ${code} ${key}`).digest("hex").slice(0, 40));
}

/** Digest of each module's code and of all that it imports, by the module's name without folder `lib` and ending. */
export type ModuleCodes = Readonly<Record<string, string>>;

/**
 * A memory in a folder, for all threads and runs, and in the program that stays, where there is one; `codes` tells what code computes, so that other code finds nothing.
 * A file that cannot be read counts as absent, one that cannot be written is done without.
 */
export function openComputedStore(folder: string, codes: ModuleCodes): Memory {
  mkdirSync(folder, { recursive: true });
  const resident = getResidentMemory();
  return {
    keepsShort: resident !== null,
    find(name, key, kind) {
      const file = nameFile(folder, codes, name, key);
      const held = resident?.find(file);
      if (held !== undefined) return deserialize(held as Uint8Array);
      if (kind === "short") return undefined;
      try {
        const bytes = readFileSync(file);
        const value: unknown = deserialize(bytes);
        resident?.keep(file, bytes, bytes.length);
        const now = new Date();
        utimesSync(file, now, now);
        return value;
      } catch {
        return undefined;
      }
    },
    keep(name, key, value, kind) {
      const file = nameFile(folder, codes, name, key);
      const bytes = serialize(value);
      // As bytes, so that no two builds share an object that one of them might change.
      resident?.keep(file, bytes, bytes.length);
      if (kind === "short") return;
      try {
        writeWhole(file, bytes);
      } catch {
        // The next run computes it again.
      }
    },
  };
}

let writes = 0;

function writeWhole(file: string, bytes: Uint8Array): void {
  const temporary = `${file}.${process.pid}-${threadId}-${++writes}.part`;
  try {
    writeFileSync(temporary, bytes);
    renameSync(temporary, file);
  } catch (error) {
    rmSync(temporary, { force: true });
    throw error;
  }
}

/** Takes away what no run has used for long, and parts that an interrupted run left. */
export async function clearComputedStore(folder: string, now: number): Promise<void> {
  for (const name of await readdir(folder).catch(() => [])) {
    const file = join(folder, name);
    const facts = await stat(file).catch(() => null);
    if (facts !== null && now - facts.mtimeMs > longestKeptMs) await rm(file, { force: true });
  }
}
