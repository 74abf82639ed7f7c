import { existsSync, mkdirSync, readFileSync, renameSync, utimesSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { threadId } from "node:worker_threads";

export type StoredKind = "tests" | "results" | "comparisons";

/** What builds computed, by the digest of all it was computed from. Threads and runs share the folder. */
export interface BuildStore {
  has: (kind: StoredKind, key: string) => boolean;
  find: <Value>(kind: StoredKind, key: string) => Value | null;
  /** Gives the value back as a later run reads it: a first build and a later one are to give the same bytes. */
  keep: <Value>(kind: StoredKind, key: string, value: Value) => Value;
}

export const storedKinds: readonly StoredKind[] = ["tests", "results", "comparisons"];

export function openBuildStore(dir: string): BuildStore {
  const nameFile = (kind: StoredKind, key: string) => join(dir, kind, `${key}.json`);
  return {
    has(kind, key) {
      const file = nameFile(kind, key);
      if (!existsSync(file)) return false;
      const now = new Date();
      utimesSync(file, now, now);
      return true;
    },
    find<Value>(kind: StoredKind, key: string) {
      try {
        return JSON.parse(readFileSync(nameFile(kind, key), "utf8")) as Value;
      } catch {
        return null;
      }
    },
    keep<Value>(kind: StoredKind, key: string, value: Value) {
      const file = nameFile(kind, key);
      mkdirSync(join(dir, kind), { recursive: true });
      const temporary = `${file}.${process.pid}-${threadId}.part`;
      const text = JSON.stringify(value);
      writeFileSync(temporary, text);
      renameSync(temporary, file);
      return JSON.parse(text) as Value;
    },
  };
}
