import { createHash } from "node:crypto";
import { createReadStream } from "node:fs";
import { mkdir, readFile, stat } from "node:fs/promises";
import { dirname } from "node:path";
import { replaceFile } from "./write-file.ts";

interface KnownHash {
  size: number;
  mtimeMs: number;
  ctimeMs: number;
  inode: number;
  sha256: string;
}

export interface FileHashes {
  hash: (path: string) => Promise<string>;
  /** Notes a digest that was found on the way, for a file read whole. */
  note: (path: string, sha256: string) => Promise<void>;
  save: () => Promise<void>;
}

/** A file changed this shortly before it was looked at may change again within the clock's grain. */
const tooFreshMs = 2000;

async function digestFile(path: string): Promise<string> {
  const hash = createHash("sha256");
  for await (const chunk of createReadStream(path, { highWaterMark: 1 << 20 })) hash.update(chunk as Buffer);
  return hash.digest("hex");
}

async function readIndex(indexFile: string): Promise<Map<string, KnownHash>> {
  const text = await readFile(indexFile, "utf8").catch(() => "{}");
  try {
    return new Map(Object.entries(JSON.parse(text) as Record<string, KnownHash>));
  } catch {
    return new Map();
  }
}

/**
 * SHA-256 of files, remembered with size, times of content and of inode change, and inode: a file for which all four are
 * as they were is not read again. (The inode's change time cannot be set back by copying or touching a file, so a
 * replaced frame with an old date is noticed.) With `trust` false every file is read.
 */
export async function openFileHashes(indexFile: string, trust = true): Promise<FileHashes> {
  const known = trust ? await readIndex(indexFile) : new Map<string, KnownHash>();
  let changed = false;

  async function note(path: string, sha256: string): Promise<void> {
    const { size, mtimeMs, ctimeMs, ino } = await stat(path);
    if (Date.now() - Math.max(mtimeMs, ctimeMs) < tooFreshMs) return;
    known.set(path, { size, mtimeMs, ctimeMs, inode: ino, sha256 });
    changed = true;
  }

  return {
    note,
    async hash(path) {
      const before = await stat(path);
      const old = known.get(path);
      const same =
        old !== undefined &&
        old.size === before.size &&
        old.mtimeMs === before.mtimeMs &&
        old.ctimeMs === before.ctimeMs &&
        old.inode === before.ino;
      if (same && /^[0-9a-f]{64}$/.test(old.sha256)) return old.sha256;
      const sha256 = await digestFile(path);
      await note(path, sha256);
      return sha256;
    },
    async save() {
      if (!changed) return;
      await mkdir(dirname(indexFile), { recursive: true });
      await replaceFile(indexFile, `${JSON.stringify(Object.fromEntries(known))}\n`);
      changed = false;
    },
  };
}
