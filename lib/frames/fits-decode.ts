import type { ByteSource } from "./byte-source.ts";
import { ChecksumSum, hasChecksum, judgeChecksum } from "./fits-checksum.ts";
import type { FitsHeader } from "./fits-header.ts";
import { type ImageBlock, readPlainBlocks } from "./fits-image.ts";
import { type ImageLayout, readImageLayout } from "./fits-layout.ts";
import type { NativeSamples } from "./fits-samples.ts";
import { readTiledBlocks } from "./fits-tiles.ts";
import { findFrameUnit } from "./fits-walk.ts";

/** An image found in a FITS file, its data still to be read. */
export interface FitsImageStream {
  layout: ImageLayout;
  /** The image's own header, the primary's keywords behind it where these hold too. */
  header: FitsHeader;
  /** The data, once and in order of the file; `warnings` gains the checksum's when it has passed. */
  blocks: AsyncGenerator<ImageBlock>;
  warnings: string[];
}

/** Keywords of the extension before those of the primary that it inherits. */
function mergeHeaders(own: FitsHeader, inherited: FitsHeader | null): FitsHeader {
  if (inherited === null) return own;
  return { ...own, cards: new Map([...inherited.cards, ...own.cards]) };
}

/**
 * Finds the image of a FITS file (the first, or unit `hdu`) and reads up to its data.
 * Throws `ReportError` with a fault of frames/fits-*, frames/truncated, frames/too-large or frames/packing-refused.
 */
export async function startFitsImage(source: ByteSource, hdu?: number): Promise<FitsImageStream> {
  const { unit, inherited } = await findFrameUnit(source, hdu);
  const warnings = [...unit.header.warnings];
  const layout = readImageLayout(source.file, unit, warnings);
  const sum = hasChecksum(unit) ? new ChecksumSum() : null;
  const listen = (bytes: Uint8Array): void => sum?.add(bytes);
  async function* readBlocks(): AsyncGenerator<ImageBlock> {
    yield* layout.tiled
      ? readTiledBlocks(source, unit, layout, listen)
      : readPlainBlocks(source, layout, listen);
    const verdict = sum === null ? null : judgeChecksum(unit, sum.value);
    if (verdict !== null) warnings.push(verdict);
  }
  return {
    layout,
    header: mergeHeaders(unit.header, inherited?.header ?? null),
    blocks: readBlocks(),
    warnings,
  };
}

/** An image in the type that holds its values exactly, in stored order: plane, row from the first stored, column. */
export interface FitsImage {
  widthPx: number;
  heightPx: number;
  planes: number;
  values: NativeSamples;
  warnings: string[];
}

/** An array of the type of `like`, all planes of the image. */
function makeLike(like: NativeSamples, length: number): NativeSamples {
  const Type = like.constructor as new (length: number) => NativeSamples;
  return new Type(length);
}

/** Copies between arrays of one type; bigint and number arrays have no common `set`. */
function copyRun(from: NativeSamples, start: number, count: number, into: NativeSamples, at: number): void {
  const run = from.subarray(start, start + count);
  if (run instanceof BigInt64Array || run instanceof BigUint64Array) {
    (into as BigInt64Array).set(run, at);
  } else {
    (into as Float64Array).set(run, at);
  }
}

/**
 * The whole image, values as astropy yields them: stored integers, unsigned integers by the offset convention, floats
 * once scaled or blanked. Rows are not turned over. For what needs exact values of any type; a frame for measuring
 * comes from `openFrame`.
 */
export async function decodeFitsImage(source: ByteSource, hdu?: number): Promise<FitsImage> {
  const { layout, blocks, warnings } = await startFitsImage(source, hdu);
  const { widthPx, heightPx, planes } = layout;
  let values: NativeSamples | null = null;
  for await (const block of blocks) {
    values ??= makeLike(block.values, widthPx * heightPx * planes);
    for (let plane = 0; plane < block.planes; plane++) {
      for (let row = 0; row < block.rows; row++) {
        const start = (plane * block.rows + row) * block.columns;
        const at =
          ((block.firstPlane + plane) * heightPx + block.firstRow + row) * widthPx + block.firstColumn;
        copyRun(block.values, start, block.columns, values, at);
      }
    }
  }
  return { widthPx, heightPx, planes, values: values ?? new Uint8Array(0), warnings };
}
