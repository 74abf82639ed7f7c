import { createHash, type Hash } from "node:crypto";
import { type FileHandle, open, stat } from "node:fs/promises";
import { Readable } from "node:stream";
import { createGunzip } from "node:zlib";
import type { ByteSource } from "./byte-source.ts";
import { makeFrameError } from "./frame-fault.ts";
import { FRAME_LIMITS } from "./frame-limits.ts";

/** A file open for reading, every byte of it hashed once as it passes. */
export interface OpenedFile {
  /** First bytes, for telling the format; fewer where the file is shorter. */
  start: Uint8Array;
  sizeBytes: number;
  /** The bytes as stored; for one reader, once. */
  readPlain(): ByteSource;
  /** The bytes unpacked from gzip; for one reader, once. */
  readUnpacked(): ByteSource;
  /** Hashes what no reader has passed yet and yields the hash of the whole file as stored, in hexadecimal. */
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

/** Reads forward through a file, hashing. */
class HashedReader {
  position = 0;
  readonly #handle: FileHandle;
  readonly #hash: Hash = createHash("sha256");
  readonly #file: string;

  constructor(handle: FileHandle, file: string) {
    this.#handle = handle;
    this.#file = file;
  }

  async fill(into: Uint8Array): Promise<number> {
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

/** A source over the unpacked bytes of a gzip file, piece by piece as they are asked for. */
function unpackPieces(file: string, reader: HashedReader): ByteSource {
  const stream = Readable.from(reader.readPieces(), { objectMode: false });
  const gunzip = createGunzip({ chunkSize: 1 << 18 });
  stream.on("error", (error) => gunzip.destroy(error));
  const pieces = stream.pipe(gunzip)[Symbol.asyncIterator]();
  let piece: Uint8Array = new Uint8Array(0);
  let unpacked = 0;
  const advance = async (): Promise<boolean> => {
    if (unpacked > FRAME_LIMITS.maxUnpackedBytes) {
      throw makeGzipError(file, `more than ${FRAME_LIMITS.maxUnpackedBytes} bytes when unpacked`);
    }
    try {
      const next = await pieces.next();
      if (next.done === true) return false;
      piece = next.value as Buffer;
      unpacked += piece.length;
      return true;
    } catch (cause) {
      throw makeGzipError(file, "gzip data that is cut short or damaged", cause);
    }
  };
  const take = async (count: number, into: Uint8Array | null): Promise<number> => {
    let done = 0;
    while (done < count) {
      if (piece.length === 0 && !(await advance())) break;
      const part = piece.subarray(0, count - done);
      into?.set(part, done);
      piece = piece.subarray(part.length);
      done += part.length;
    }
    return done;
  };
  return {
    file,
    bytesLeft: null,
    fill: (into) => take(into.length, into),
    skip: (count) => take(count, null),
  };
}

function makeGzipError(file: string, found: string, cause?: unknown): Error {
  return makeFrameError(
    {
      code: "frames/gzip",
      file,
      found,
      allowed: "a whole FITS file packed with gzip",
      fix: "copy the file again from the camera's computer, or unpack it with gzip to see what it holds",
    },
    cause,
  );
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
    readUnpacked: () => unpackPieces(file, reader),
    finishHash: () => reader.finish(),
    close: () => handle.close(),
  };
}
