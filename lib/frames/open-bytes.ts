import { createHash, type Hash } from "node:crypto";
import { type FileHandle, open, stat } from "node:fs/promises";
import type { ByteSource } from "./byte-source.ts";
import { makeFrameError } from "./frame-fault.ts";
import { type UnpackedSource, unpackPieces } from "./open-gzip.ts";

/** A file open for reading, every byte of it hashed once as it passes. */
export interface OpenedFile {
  /** First bytes, for telling the format; fewer where the file is shorter. */
  start: Uint8Array;
  sizeBytes: number;
  /** The bytes as stored; for one reader, once. */
  readPlain(): ByteSource;
  /** The bytes unpacked from gzip; for one reader, once. */
  readUnpacked(): ByteSource;
  /** Checks the rest of gzip data, hashes what no reader has passed yet and yields the hash of the whole file as stored, in hexadecimal. */
  finishHash(): Promise<string>;
  close(): Promise<void>;
}

const pieceBytes = 1 << 20;

/** What the system says of a file it cannot open or read, in the trade's words. */
export function makeUnreadableError(file: string, cause: unknown): Error {
  const code = cause instanceof Error && "code" in cause ? String(cause.code) : "unknown";
  const found: Record<string, string> = {
    ENOENT: "no such file",
    EACCES: "a file this user may not read",
    EISDIR: "a folder",
    ENAMETOOLONG: "a name too long for the system",
  };
  return makeFrameError(
    {
      code: "frames/unreadable",
      file,
      found: found[code] ?? `a file that cannot be read (${code})`,
      allowed: "a readable frame file",
      fix: "check the name and the rights, or that the disk is connected",
    },
    cause,
  );
}

/**
 * Reads forward through a file, hashing. Calls queue up, so that a stream that still reads ahead and the hashing of the
 * rest cannot mix the order of the bytes.
 */
class HashedReader {
  position = 0;
  #queue: Promise<number> = Promise.resolve(0);
  readonly #handle: FileHandle;
  readonly #hash: Hash = createHash("sha256");
  readonly #file: string;

  constructor(handle: FileHandle, file: string) {
    this.#handle = handle;
    this.#file = file;
  }

  fill(into: Uint8Array): Promise<number> {
    this.#queue = this.#queue.catch(() => 0).then(() => this.#fillNext(into));
    return this.#queue;
  }

  async #fillNext(into: Uint8Array): Promise<number> {
    let filled = 0;
    try {
      while (filled < into.length) {
        const { bytesRead } = await this.#handle.read(
          into,
          filled,
          into.length - filled,
          this.position + filled,
        );
        if (bytesRead === 0) break;
        filled += bytesRead;
      }
    } catch (cause) {
      throw makeUnreadableError(this.#file, cause);
    }
    if (filled === 0) return 0;
    this.#hash.update(into.subarray(0, filled));
    this.position += filled;
    return filled;
  }

  async skip(count: number): Promise<number> {
    const piece = new Uint8Array(Math.min(count, pieceBytes));
    let passed = 0;
    while (passed < count) {
      const filled = await this.fill(piece.subarray(0, Math.min(piece.length, count - passed)));
      if (filled === 0) break;
      passed += filled;
    }
    return passed;
  }

  async finish(): Promise<string> {
    await this.skip(Number.MAX_SAFE_INTEGER);
    return this.#hash.digest("hex");
  }

  async *readPieces(): AsyncGenerator<Buffer> {
    for (;;) {
      const piece = Buffer.alloc(pieceBytes);
      const filled = await this.fill(piece);
      if (filled > 0) yield piece.subarray(0, filled);
      if (filled < piece.length) return;
    }
  }
}

/** Opens `path`; `file` is its name in messages. Throws `ReportError` frames/unreadable. */
export async function openBytes(path: string, file: string): Promise<OpenedFile> {
  let handle: FileHandle;
  let sizeBytes: number;
  const start = new Uint8Array(16);
  try {
    // Asked before opening: opening a named pipe would wait for a writer for ever.
    const facts = await stat(path);
    if (facts.isDirectory()) throw Object.assign(new Error("a folder"), { code: "EISDIR" });
    if (!facts.isFile()) throw Object.assign(new Error("no file"), { code: "not a plain file" });
    sizeBytes = facts.size;
    handle = await open(path, "r");
  } catch (cause) {
    throw makeUnreadableError(file, cause);
  }
  try {
    await handle.read(start, 0, start.length, 0);
  } catch (cause) {
    await handle.close();
    throw makeUnreadableError(file, cause);
  }
  const reader = new HashedReader(handle, file);
  let unpacked: UnpackedSource | null = null;
  return {
    start: start.subarray(0, Math.min(start.length, sizeBytes)),
    sizeBytes,
    readPlain: () => ({
      file,
      get bytesLeft() {
        return sizeBytes - reader.position;
      },
      fill: (into) => reader.fill(into),
      skip: (count) => reader.skip(count),
    }),
    readUnpacked() {
      unpacked = unpackPieces(file, reader.readPieces());
      return unpacked;
    },
    async finishHash() {
      await unpacked?.drain();
      unpacked?.stop();
      return reader.finish();
    },
    async close() {
      unpacked?.stop();
      await handle.close();
    },
  };
}
