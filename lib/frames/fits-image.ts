import type { ByteSource } from "./byte-source.ts";
import type { ImageLayout } from "./fits-layout.ts";
import { type NativeSamples, scaleSamples, swapToNative, viewStored } from "./fits-samples.ts";
import { makeTruncatedError } from "./fits-walk.ts";

/** A box of an image, in stored order: plane, then row from the first stored one, then column. */
export interface ImageBlock {
  firstColumn: number;
  firstRow: number;
  firstPlane: number;
  columns: number;
  rows: number;
  planes: number;
  /** Valid until the next block is asked for: its memory is used again. */
  values: NativeSamples;
}

/** Told of every piece of data as stored, for the checksum. */
export type DataListener = (bytes: Uint8Array) => void;

/** Bytes read at a time; chosen: large enough that calls cost nothing, small enough to stay in the cache. */
const bandBytes = 1 << 20;

/**
 * The image of a unit that is not compressed, in bands of whole rows, from a source standing at its data.
 * Throws `ReportError` frames/truncated where the data ends early.
 */
export async function* readPlainBlocks(
  source: ByteSource,
  layout: ImageLayout,
  onData: DataListener,
): AsyncGenerator<ImageBlock> {
  const { widthPx, heightPx, planes, bitpix } = layout;
  const bytesPerValue = Math.abs(bitpix) / 8;
  const rowBytes = widthPx * bytesPerValue;
  // Four rows together are whole 32-bit words whatever the width, which is what the checksum adds up.
  const rowsPerBand = Math.min(heightPx, Math.max(4, 4 * Math.floor(bandBytes / rowBytes / 4)));
  const band = new Uint8Array(rowsPerBand * rowBytes);
  let passed = 0;
  for (let plane = 0; plane < planes; plane++) {
    for (let firstRow = 0; firstRow < heightPx; firstRow += rowsPerBand) {
      const rows = Math.min(rowsPerBand, heightPx - firstRow);
      const bytes = band.subarray(0, rows * rowBytes);
      const count = await source.fill(bytes);
      passed += count;
      if (count < bytes.length) {
        throw makeTruncatedError(source.file, rowBytes * heightPx * planes, passed);
      }
      onData(bytes);
      swapToNative(bytes, bytesPerValue);
      yield {
        firstColumn: 0,
        firstRow,
        firstPlane: plane,
        columns: widthPx,
        rows,
        planes: 1,
        values: scaleSamples(viewStored(bytes, bitpix), layout),
      };
    }
  }
}
