import { Readable } from "node:stream";
import { createGunzip } from "node:zlib";
import type { ByteSource } from "./byte-source.ts";
import { makeFrameError } from "./frame-fault.ts";
import { FRAME_LIMITS } from "./frame-limits.ts";

/** The unpacked bytes of a gzip file. */
export interface UnpackedSource extends ByteSource {
  /** Unpacks what is left, so that gzip's own check sum at the end is held against all of the data. */
  drain(): Promise<void>;
  /** Stops reading; nothing may be asked for afterwards. */
  stop(): void;
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

/**
 * A source over what the packed pieces hold, unpacked piece by piece as it is asked for.
 * Throws `ReportError` frames/gzip for damaged data and for what unpacks beyond the bound.
 */
export function unpackPieces(file: string, packed: AsyncIterable<Buffer>): UnpackedSource {
  const stream = Readable.from(packed, { objectMode: false });
  const gunzip = createGunzip({ chunkSize: 1 << 18 });
  stream.on("error", (error) => gunzip.destroy(error));
  // The iterator below passes errors on; one that comes after it was left must not end the program.
  gunzip.on("error", () => stream.destroy());
  const pieces = stream.pipe(gunzip)[Symbol.asyncIterator]();
  let piece: Uint8Array = new Uint8Array(0);
  let unpackedBytes = 0;

  const advance = async (): Promise<boolean> => {
    if (unpackedBytes > FRAME_LIMITS.maxUnpackedBytes) {
      throw makeGzipError(file, `more than ${FRAME_LIMITS.maxUnpackedBytes} bytes when unpacked`);
    }
    try {
      const next = await pieces.next();
      if (next.done === true) return false;
      piece = next.value as Buffer;
      unpackedBytes += piece.length;
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
    async drain() {
      await take(Number.MAX_SAFE_INTEGER, null);
    },
    stop() {
      stream.destroy();
      gunzip.destroy();
    },
  };
}
