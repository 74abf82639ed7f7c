import { readFile } from "node:fs/promises";
import sharp, { type Metadata } from "sharp";
import type { CfaPattern } from "../records/types.ts";
import { makePlanes } from "./cfa.ts";
import { NO_FACTS } from "./fits-facts.ts";
import type { Frame } from "./frame.ts";
import { makeFrameError } from "./frame-fault.ts";
import { FRAME_LIMITS, frameSizeAllowed, judgeFrameSize } from "./frame-limits.ts";
import { hasNoValues } from "./frame-samples.ts";
import { eightBitWarning, jpegWarning, makeNoValuesError } from "./frame-warnings.ts";

type PictureFormat = "tiff" | "png" | "jpeg";
type Depth = "uchar" | "ushort" | "float";

const formatNames: Record<PictureFormat, string> = { tiff: "TIFF", png: "PNG", jpeg: "JPEG" };

/** The depth to ask for: whole numbers of 8 and 16 bits as they are, everything else as floats. */
function chooseDepth(stored: string | undefined): Depth {
  return stored === "uchar" || stored === "ushort" ? stored : "float";
}

function makePictureError(
  file: string,
  format: PictureFormat,
  found: string,
  allowed: string,
  cause?: unknown,
) {
  return makeFrameError(
    {
      code: "frames/picture",
      file,
      found,
      allowed,
      fix: `save the frame again as an uncompressed 16-bit ${format === "png" ? "PNG" : "TIFF"} or as FITS`,
    },
    cause,
  );
}

/** The decoder's own words, one line of them: they tell a sample format it lacks from damage. */
function giveReason(cause: unknown): string {
  return cause instanceof Error ? cause.message.split("\n")[0] : "no reason given";
}

/** One channel of interleaved samples on shared memory; infinities become NaN as for FITS. */
function takeChannel(
  interleaved: Uint8Array | Uint16Array | Float32Array,
  channel: number,
  channels: number,
): Uint16Array | Float32Array {
  const count = interleaved.length / channels;
  if (!(interleaved instanceof Float32Array)) {
    const samples = new Uint16Array(new SharedArrayBuffer(2 * count));
    if (channels === 1) samples.set(interleaved);
    else for (let i = 0; i < count; i++) samples[i] = interleaved[i * channels + channel];
    return samples;
  }
  const samples = new Float32Array(new SharedArrayBuffer(4 * count));
  for (let i = 0; i < count; i++) {
    const value = interleaved[i * channels + channel];
    samples[i] = Number.isFinite(value) ? value : Number.NaN;
  }
  return samples;
}

function viewSamples(bytes: Buffer, depth: Depth): Uint8Array | Uint16Array | Float32Array {
  // The decoder's buffer need not lie on a multiple of the sample's size.
  const aligned = bytes.byteOffset % 4 === 0 ? bytes : new Uint8Array(bytes);
  const { buffer, byteOffset, byteLength } = aligned;
  if (depth === "uchar") return new Uint8Array(buffer, byteOffset, byteLength);
  return depth === "ushort"
    ? new Uint16Array(buffer, byteOffset, byteLength / 2)
    : new Float32Array(buffer, byteOffset, byteLength / 4);
}

/** What a picture's own description gives cause to say. */
function listWarnings(format: PictureFormat, metadata: Metadata, hasAlpha: boolean): string[] {
  const warnings: string[] = [];
  if (chooseDepth(metadata.depth) === "uchar") warnings.push(eightBitWarning);
  if (format === "jpeg") warnings.push(jpegWarning);
  if (hasAlpha) warnings.push("The picture has an opacity channel; it was not used.");
  if ((metadata.pages ?? 1) > 1) warnings.push(`The file has ${metadata.pages} pages; the first was used.`);
  if ((metadata.orientation ?? 1) !== 1) {
    warnings.push(
      `The file asks to be displayed turned or mirrored (orientation ${metadata.orientation}); its samples were taken as stored, so corners are those of the stored picture.`,
    );
  }
  return warnings;
}

/**
 * The frame in a TIFF, PNG or JPEG, but for its hash. Samples are as stored: no colour profile, gamma or orientation
 * is applied. Row 0 is the first stored row, which these formats display at the top.
 * Throws `ReportError` frames/picture for what cannot be decoded, frames/too-large beyond the bounds.
 */
export async function readPictureFrame(
  path: string,
  file: string,
  format: PictureFormat,
  options: { cfa?: CfaPattern },
): Promise<Omit<Frame, "sha256">> {
  const name = formatNames[format];
  // The decoder takes brackets at the end of a name for options of its own: such a file is handed over as bytes.
  const input = path.endsWith("]") ? await readFile(path) : path;
  const open = () =>
    sharp(input, {
      limitInputPixels: FRAME_LIMITS.maxSamples,
      failOn: "warning",
      sequentialRead: true,
      ignoreIcc: true,
    });
  let metadata: Metadata;
  try {
    metadata = await open().metadata();
  } catch (cause) {
    throw makePictureError(
      file,
      format,
      `a ${name} that cannot be decoded (${giveReason(cause)})`,
      `a whole ${name}`,
      cause,
    );
  }
  const { width, height, channels, hasAlpha, space } = metadata;
  const colours = channels - (hasAlpha ? 1 : 0);
  const tooLarge = judgeFrameSize(width, height, channels);
  if (tooLarge !== null) {
    throw makeFrameError({
      code: "frames/too-large",
      file,
      found: tooLarge,
      allowed: frameSizeAllowed,
      fix: "check that the file is a frame of the camera; if so, crop it",
    });
  }
  if ((colours !== 1 && colours !== 3) || space === "cmyk" || space === "lab") {
    throw makePictureError(
      file,
      format,
      `${colours} channels (${space})`,
      "one channel, or red, green and blue",
    );
  }
  const depth = chooseDepth(metadata.depth);
  let bytes: Buffer;
  let decodedChannels: number;
  try {
    const pipeline = open().toColourspace(space).raw({ depth });
    const { data, info } = await pipeline.toBuffer({ resolveWithObject: true });
    bytes = data;
    decodedChannels = info.channels;
  } catch (cause) {
    throw makePictureError(
      file,
      format,
      `a ${name} that is cut short or damaged (${giveReason(cause)})`,
      `a whole ${name}`,
      cause,
    );
  }
  const interleaved = viewSamples(bytes, depth);
  if (interleaved.length !== width * height * decodedChannels) {
    throw makePictureError(file, format, `${interleaved.length} samples`, `${width} x ${height} px`);
  }
  const samples = Array.from({ length: colours }, (_, i) => takeChannel(interleaved, i, decodedChannels));
  if (samples.every(hasNoValues)) throw makeNoValuesError(file);
  const { planes, warnings } = makePlanes(samples, options.cfa, null, width);
  return {
    file,
    format,
    widthPx: width,
    heightPx: height,
    planes,
    header: { ...NO_FACTS, keywords: {} },
    fullScaleAdu: depth === "float" ? null : depth === "ushort" ? 65535 : 255,
    warnings: [...listWarnings(format, metadata, hasAlpha), ...warnings],
  };
}
