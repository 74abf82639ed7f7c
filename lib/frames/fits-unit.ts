import type { ByteSource } from "./byte-source.ts";
import {
  FITS_BLOCK_BYTES,
  FITS_CARD_BYTES,
  type FitsHeader,
  findNumber,
  findText,
  isEndCard,
  isTrue,
  parseFitsHeader,
} from "./fits-header.ts";
import { makeFrameError } from "./frame-fault.ts";
import { FRAME_LIMITS } from "./frame-limits.ts";

/** One header-data unit: its header read, its data not yet. */
export interface FitsUnit {
  /** 0 for the primary. */
  index: number;
  header: FitsHeader;
  /** The header as stored, whole blocks; the checksum runs over it. */
  headerBytes: Uint8Array;
  /** NAXIS1, NAXIS2 ... as stored. */
  axes: number[];
  bitpix: number;
  /** Bytes of data without the fill up to the next block. */
  dataBytes: number;
}

const bitpixAllowed = [8, 16, 32, 64, -32, -64];

/** A keyword that must be there as a whole number within bounds; everything after it in the file depends on it. */
export function requireInteger(
  file: string,
  header: FitsHeader,
  keyword: string,
  min: number,
  max: number,
): number {
  const value = findNumber(header, keyword);
  if (value === null || !Number.isInteger(value) || value < min || value > max) {
    throw makeFrameError({
      code: "frames/fits-keyword",
      file,
      key: keyword,
      found: header.cards.has(keyword) ? (findText(header, keyword) ?? "no value") : "no such keyword",
      allowed: `a whole number from ${min} to ${max}`,
      fix: "write the file again with the program it came from; its header does not describe its data",
    });
  }
  if (header.conflicts.has(keyword)) {
    throw makeFrameError({
      code: "frames/fits-conflict",
      file,
      key: keyword,
      found: "the keyword more than once, with differing values",
      allowed: "one value",
      fix: "remove the wrong card with a FITS header editor, or write the file again",
    });
  }
  return value;
}

/** Reads blocks up to the one with END; null where no further unit begins here (end of file, or junk behind the last). */
async function readHeaderBytes(source: ByteSource, index: number): Promise<Uint8Array | null> {
  const blocks: Uint8Array[] = [];
  for (let total = 0; total < FRAME_LIMITS.maxHeaderBytes; total += FITS_BLOCK_BYTES) {
    const block = new Uint8Array(FITS_BLOCK_BYTES);
    const count = await source.fill(block);
    if (blocks.length === 0) {
      const start = Buffer.from(block.subarray(0, 9)).toString("latin1").toUpperCase();
      if (index > 0 && (count < FITS_BLOCK_BYTES || !start.startsWith("XTENSION"))) return null;
    }
    blocks.push(block.subarray(0, count));
    for (let offset = 0; offset + FITS_CARD_BYTES <= count; offset += FITS_CARD_BYTES) {
      if (isEndCard(block.subarray(offset, offset + FITS_CARD_BYTES))) return Buffer.concat(blocks);
    }
    if (count < FITS_BLOCK_BYTES) break;
  }
  throw makeFrameError({
    code: "frames/fits-no-end",
    file: source.file,
    found: `a header (unit ${index}) without an END card`,
    allowed: `END within the file and within ${FRAME_LIMITS.maxHeaderBytes} bytes`,
    fix: "the file is cut short or damaged; copy it again from the camera's computer",
  });
}

/** Bytes of data of a unit: FITS Standard 4.0 (2018), equations 1, 2 and 4 (random groups leave the first axis out). */
function computeDataBytes(file: string, header: FitsHeader, bitpix: number, axes: readonly number[]): number {
  if (axes.length === 0) return 0;
  const groups = axes[0] === 0 && isTrue(header, "GROUPS");
  const extended = groups || header.cards.has("XTENSION");
  const most = Number.MAX_SAFE_INTEGER;
  const pcount = extended && header.cards.has("PCOUNT") ? requireInteger(file, header, "PCOUNT", 0, most) : 0;
  const gcount = extended && header.cards.has("GCOUNT") ? requireInteger(file, header, "GCOUNT", 0, most) : 1;
  const product = axes.slice(groups ? 1 : 0).reduce((size, axis) => size * axis, 1);
  return (Math.abs(bitpix) / 8) * gcount * (pcount + product);
}

/**
 * The header of the unit that begins here, with the size of its data; null where the file has no further unit.
 * Throws `ReportError`: frames/fits-no-end, frames/fits-keyword, frames/fits-conflict, frames/fits-size.
 */
export async function readFitsUnit(source: ByteSource, index: number): Promise<FitsUnit | null> {
  const headerBytes = await readHeaderBytes(source, index);
  if (headerBytes === null) return null;
  const { file } = source;
  const header = parseFitsHeader(headerBytes);
  const bitpix = requireInteger(file, header, "BITPIX", -64, 64);
  if (!bitpixAllowed.includes(bitpix)) {
    throw makeFrameError({
      code: "frames/fits-keyword",
      file,
      key: "BITPIX",
      found: String(bitpix),
      allowed: bitpixAllowed.join(", "),
      fix: "write the file again with the program it came from; its header does not describe its data",
    });
  }
  const axes: number[] = [];
  const axisCount = requireInteger(file, header, "NAXIS", 0, 999);
  for (let axis = 1; axis <= axisCount; axis++) {
    axes.push(requireInteger(file, header, `NAXIS${axis}`, 0, Number.MAX_SAFE_INTEGER));
  }
  const dataBytes = computeDataBytes(file, header, bitpix, axes);
  if (!Number.isSafeInteger(dataBytes)) {
    throw makeFrameError({
      code: "frames/fits-size",
      file,
      found: `axes of ${axes.join(" x ")}, more than any file can hold`,
      allowed: "axes that agree with the data in the file",
      fix: "write the file again with the program it came from; its header does not describe its data",
    });
  }
  return { index, header, headerBytes, axes, bitpix, dataBytes };
}

/** The fill that brings a unit's data to whole blocks, bytes. */
export function countFillBytes(dataBytes: number): number {
  return (FITS_BLOCK_BYTES - (dataBytes % FITS_BLOCK_BYTES)) % FITS_BLOCK_BYTES;
}
