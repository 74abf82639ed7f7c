import type { ByteSource } from "./byte-source.ts";
import { restoreFloats } from "./dither.ts";
import type { DataListener, ImageBlock } from "./fits-image.ts";
import type { ImageLayout } from "./fits-layout.ts";
import { type StoredSamples, scaleSamples } from "./fits-samples.ts";
import {
  makeTableError,
  readHeapPiece,
  readTableLayout,
  readTableNumber,
  type TableLayout,
} from "./fits-table.ts";
import { readTilePlan, type TilePlan } from "./fits-tile-plan.ts";
import type { FitsUnit } from "./fits-unit.ts";
import { makeTruncatedError } from "./fits-walk.ts";
import { makeFrameError } from "./frame-fault.ts";
import { PackedDataError } from "./rice.ts";
import { unpackFloats, unpackIntegers } from "./tile-packing.ts";

/** Chosen: half a gigasample of 32-bit floats that did not pack at all, the most that a frame may have. */
const maxTableBytes = 2 ** 31;

/** The packed table with its heap, whole: descriptors may point anywhere in it. Bounded by the caller's check. */
async function readTableData(source: ByteSource, unit: FitsUnit, onData: DataListener): Promise<Uint8Array> {
  if (unit.dataBytes > maxTableBytes) {
    throw makeTableError(source.file, "PCOUNT", `${unit.dataBytes} bytes of packed data`);
  }
  const data = new Uint8Array(unit.dataBytes);
  const pieceBytes = 1 << 20;
  for (let offset = 0; offset < data.length; offset += pieceBytes) {
    const piece = data.subarray(offset, offset + pieceBytes);
    const count = await source.fill(piece);
    if (count < piece.length) throw makeTruncatedError(source.file, data.length, offset + count);
    onData(piece);
  }
  return data;
}

/** Integers in the stored type of BITPIX, so that scaling is as for an image that was never packed. */
function narrowIntegers(integers: Int32Array | BigInt64Array, bitpix: number): StoredSamples {
  if (bitpix === 64) {
    return integers instanceof BigInt64Array ? integers : BigInt64Array.from(integers, BigInt);
  }
  const narrow = integers instanceof BigInt64Array ? Int32Array.from(integers, Number) : integers;
  if (bitpix === 32) return narrow;
  return bitpix === 8 ? Uint8Array.from(narrow) : Int16Array.from(narrow);
}

/** Everything a tile is unpacked from. */
interface TiledImage {
  file: string;
  data: Uint8Array;
  view: DataView;
  table: TableLayout;
  plan: TilePlan;
  layout: ImageLayout;
}

/** Stored samples of one tile, from whichever column has it. */
function unpackTile(image: TiledImage, row: number, count: number): StoredSamples {
  const { file, data, view, table, plan, layout } = image;
  const floats = layout.bitpix < 0;
  const packed = readHeapPiece(file, data, table, row, "COMPRESSED_DATA");
  if (packed === null) {
    const zipped = readHeapPiece(file, data, table, row, "GZIP_COMPRESSED_DATA");
    const plain = zipped ?? readHeapPiece(file, data, table, row, "UNCOMPRESSED_DATA");
    if (plain === null) throw new PackedDataError("no data for it");
    const packing = zipped === null ? "NOCOMPRESS" : "GZIP_1";
    return floats
      ? unpackFloats(plain, count, packing)
      : narrowIntegers(unpackIntegers(plain, count, packing, plan.parameters), layout.bitpix);
  }
  if (!floats) {
    return narrowIntegers(unpackIntegers(packed, count, plan.packing, plan.parameters), layout.bitpix);
  }
  const scale = readTableNumber(view, table, row, "ZSCALE") ?? plan.scale;
  const zero = readTableNumber(view, table, row, "ZZERO") ?? plan.zero ?? 0;
  if (scale === null) {
    if (plan.packing === "RICE_1") throw new PackedDataError("no ZSCALE for floats packed with RICE_1");
    return unpackFloats(packed, count, plan.packing);
  }
  const integers = unpackIntegers(packed, count, plan.packing, plan.parameters);
  if (integers instanceof BigInt64Array) throw new PackedDataError("64-bit integers for quantised floats");
  const restored = layout.bitpix === -32 ? new Float32Array(count) : new Float64Array(count);
  const blank = readTableNumber(view, table, row, "ZBLANK") ?? plan.blank;
  const ditherRow = Math.max(1, row + plan.ditherSeed);
  restoreFloats(integers, { scale, zero, blank, method: plan.quantization, ditherRow }, restored);
  return restored;
}

/**
 * The image of a tile-compressed unit, tile by tile, from a source standing at its data.
 * Throws `ReportError`: frames/packing-refused, frames/fits-table, frames/fits-tile, frames/truncated.
 * @source FITS Standard 4.0 (2018), section 10
 */
export async function* readTiledBlocks(
  source: ByteSource,
  unit: FitsUnit,
  layout: ImageLayout,
  onData: DataListener,
): AsyncGenerator<ImageBlock> {
  const { file } = source;
  const table = readTableLayout(file, unit);
  const plan = readTilePlan(file, unit, layout, table.rows);
  const data = await readTableData(source, unit, onData);
  const view = new DataView(data.buffer, data.byteOffset, data.byteLength);
  const image = { file, data, view, table, plan, layout };
  for (let row = 0; row < table.rows; row++) {
    const across = row % plan.counts[0];
    const up = Math.floor(row / plan.counts[0]) % plan.counts[1];
    const deep = Math.floor(row / (plan.counts[0] * plan.counts[1]));
    const firstColumn = across * plan.tile[0];
    const firstRow = up * plan.tile[1];
    const firstPlane = deep * plan.tile[2];
    const columns = Math.min(plan.tile[0], layout.widthPx - firstColumn);
    const rows = Math.min(plan.tile[1], layout.heightPx - firstRow);
    const planes = Math.min(plan.tile[2], layout.planes - firstPlane);
    let stored: StoredSamples;
    try {
      stored = unpackTile(image, row, columns * rows * planes);
    } catch (cause) {
      if (!(cause instanceof PackedDataError)) throw cause;
      throw makeFrameError(
        {
          code: "frames/fits-tile",
          file,
          found: `tile ${row + 1} of ${table.rows} cannot be unpacked: ${cause.message}`,
          allowed: `whole tiles packed with ${plan.packing}`,
          fix: "the file is damaged; copy it again, or pack the frame again",
        },
        cause,
      );
    }
    yield { firstColumn, firstRow, firstPlane, columns, rows, planes, values: scaleSamples(stored, layout) };
  }
}
