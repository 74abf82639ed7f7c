import type { CfaPattern } from "../records/types.ts";
import type { ByteSource } from "./byte-source.ts";
import { readFitsFrame } from "./fits-frame.ts";
import type { Frame } from "./frame.ts";
import { makeFrameError } from "./frame-fault.ts";
import { type OpenedFile, openBytes } from "./open-bytes.ts";
import { readPictureFrame } from "./open-picture.ts";

export { expandFrames } from "./open-patterns.ts";

export interface OpenFrameOptions {
  /** Header-data unit of a FITS file, 0 for the primary; left out: the first that holds a frame. */
  hdu?: number;
  /** The record's colour-filter pattern as displayed from the upper left; it wins over the header's. */
  cfa?: CfaPattern;
}

type Format = "fits" | "gzip" | "tiff" | "png" | "jpeg";

/** The format by a file's first bytes: names lie. */
function detectFormat(start: Uint8Array): Format | null {
  const bytes = Buffer.from(start.buffer, start.byteOffset, start.byteLength);
  const text = bytes.toString("latin1");
  if (/^SIMPLE {2}=/i.test(text)) return "fits";
  if (text.startsWith("\x1f\x8b")) return "gzip";
  // TIFF in either byte order, and its form for large files.
  if (/^(II[*+]\0|MM\0[*+])/.test(text)) return "tiff";
  if (text.startsWith("\x89PNG\r\n\x1a\n")) return "png";
  return text.startsWith("\xff\xd8\xff") ? "jpeg" : null;
}

function makeFormatError(file: string, found: string): Error {
  return makeFrameError({
    code: "frames/format",
    file,
    found,
    allowed: "FITS (also packed with gzip), TIFF, PNG or JPEG, told by the file's first bytes",
    fix: "name the camera's own frames in the record, saved as FITS or 16-bit TIFF",
  });
}

/** Within gzip only FITS is read: its first card has to be there. */
async function checkUnpackedStart(source: ByteSource): Promise<ByteSource> {
  const start = new Uint8Array(16);
  const count = await source.fill(start);
  if (detectFormat(start.subarray(0, count)) !== "fits") {
    throw makeFormatError(source.file, "a gzip file that holds something else than FITS");
  }
  // Give the bytes back before the rest.
  let given = 0;
  return {
    file: source.file,
    bytesLeft: null,
    async fill(into) {
      const part = start.subarray(given, Math.min(count, given + into.length));
      into.set(part);
      given += part.length;
      return part.length + (await source.fill(into.subarray(part.length)));
    },
    async skip(bytes) {
      const pending = Math.min(bytes, count - given);
      given += pending;
      return pending + (await source.skip(bytes - pending));
    },
  };
}

async function readFrame(opened: OpenedFile, path: string, options: OpenFrameOptions) {
  const format = detectFormat(opened.start);
  if (opened.sizeBytes === 0) throw makeFormatError(path, "an empty file");
  if (format === null) throw makeFormatError(path, "a file of none of these formats");
  if (format === "fits") return readFitsFrame(opened.readPlain(), options);
  if (format === "gzip") return readFitsFrame(await checkUnpackedStart(opened.readUnpacked()), options);
  return readPictureFrame(path, path, format, options);
}

/**
 * One frame file as samples for measuring and what its header says.
 *
 * Samples: 16-bit where every value is a whole number of 0 to 65535, else 32-bit floats with NaN for no value; on
 * shared memory; row 0 at the displayed top. One plane "L", three of a colour picture, or those of a colour-filter
 * pattern, which share their samples. `sha256` is that of the file as stored.
 *
 * @param path - file to read; `Frame.file` and messages name it as given
 * @throws ReportError with a fault whose code starts with "frames/"
 * @source FITS Standard 4.0 (2018)
 */
export async function openFrame(path: string, options: OpenFrameOptions = {}): Promise<Frame> {
  const opened = await openBytes(path, path);
  try {
    const frame = await readFrame(opened, path, options);
    return { ...frame, sha256: await opened.finishHash() };
  } finally {
    await opened.close();
  }
}
