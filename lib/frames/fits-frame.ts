import type { CfaPattern } from "../records/types.ts";
import type { ByteSource } from "./byte-source.ts";
import { makePlanes } from "./cfa.ts";
import { startFitsImage } from "./fits-decode.ts";
import { readFitsFacts, readsFromBottom } from "./fits-facts.ts";
import type { ImageLayout } from "./fits-layout.ts";
import type { Frame } from "./frame.ts";
import { FrameSamples, hasNoValues } from "./frame-samples.ts";
import { eightBitWarning, makeNoValuesError } from "./frame-warnings.ts";

/** Highest physical value of 8- and 16-bit integers; wider types hold camera samples with room to spare: null. */
function computeFullScaleAdu({ bitpix, bscale, bzero }: ImageLayout): number | null {
  if (bitpix === 8) return bscale > 0 ? 255 * bscale + bzero : bzero;
  if (bitpix === 16) return (bscale > 0 ? 32767 : -32768) * bscale + bzero;
  return null;
}

/** Chosen: far below what noise and a bias taken off can leave, well above where unsigned samples wrap to. */
const wrappedBelowAdu = -8192;

/**
 * Unsigned samples whose header lacks BZERO = 32768 wrap: the upper half of the range reads as negative. The file
 * cannot prove it, so it is a warning.
 */
function judgeMissingOffset(layout: ImageLayout, samples: Uint16Array | Float32Array): string | null {
  if (layout.bitpix !== 16 || layout.bzero !== 0 || layout.bscale !== 1) return null;
  if (samples instanceof Uint16Array || !samples.some((value) => value < wrappedBelowAdu)) return null;
  return `Samples lie below ${wrappedBelowAdu} ADU: the camera's samples are probably unsigned and the header lacks BZERO = 32768, so bright stars read as dark. Write the file again, or add the card.`;
}

/**
 * The frame in a FITS file, but for its hash. Rows are turned over so that row 0 is the displayed top.
 *
 * Peak memory: the samples and about one megabyte; for a tile-compressed file its packed data as well.
 * Throws `ReportError` for whatever is wrong with the file, and for a frame without a single value.
 */
export async function readFitsFrame(
  source: ByteSource,
  options: { hdu?: number; cfa?: CfaPattern },
): Promise<Omit<Frame, "sha256">> {
  const { layout, header, blocks, warnings } = await startFitsImage(source, options.hdu);
  const { widthPx, heightPx } = layout;
  const gathered = new FrameSamples(widthPx, heightPx, layout.planes, readsFromBottom(header));
  for await (const block of blocks) gathered.add(block);
  const samples = gathered.finish();
  if (samples.every(hasNoValues)) throw makeNoValuesError(source.file);
  for (const plane of samples) {
    const warning = judgeMissingOffset(layout, plane);
    if (warning !== null && !warnings.includes(warning)) warnings.push(warning);
  }
  const facts = readFitsFacts(header, heightPx, warnings);
  const { planes, warnings: planeWarnings } = makePlanes(samples, options.cfa, facts.cfa, widthPx);
  if (layout.bitpix === 8) warnings.push(eightBitWarning);
  return {
    file: source.file,
    format: "fits",
    widthPx,
    heightPx,
    planes,
    header: facts,
    fullScaleAdu: samples[0] instanceof Float32Array ? null : computeFullScaleAdu(layout),
    warnings: [...warnings, ...planeWarnings],
  };
}
