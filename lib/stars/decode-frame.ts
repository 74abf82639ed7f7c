import * as z from "zod";
import type { FrameMeasurement } from "./frame-measurement.ts";
import { restoreStars, STORED_NAMES, type StoredStars } from "./star-digits.ts";

/** Longer than any measurement of ours gets; a damaged or hostile file is not to fill the memory. */
const mostStars = 2_000_000;
/** Looked through in a plain loop: a frame has a hundred thousand of these numbers, a site thousands of frames. */
const column = z.custom<(number | null)[]>(
  (list) =>
    Array.isArray(list) &&
    list.length <= mostStars &&
    list.every((value) => value === null || Number.isFinite(value)),
);
const flags = z.custom<number[]>(
  (list) =>
    Array.isArray(list) &&
    list.length <= mostStars &&
    list.every((value) => Number.isInteger(value) && value >= 0 && value <= 65535),
);
const text = z.string().max(4000);
const known = z.number().nullable();

const storedStars = z
  .object({
    ...Object.fromEntries(STORED_NAMES.map((name) => [name, column])),
    flags,
  })
  .refine((stars) => Object.values(stars).every((list) => list.length === stars.flags.length), {
    error: "columns of unequal length",
  });

const level = z.object({ median: known, lo: known, hi: known, cells: z.int() });

const channel = z.object({
  channel: text,
  found: z.int().min(0),
  background: level,
  noise: level,
  gainElectronsPerAdu: known,
  gainIs: z.enum(["given", "estimated"]),
  moffatBeta: known,
  starsLearnedFrom: z.int(),
  warnings: z.array(text),
  stars: storedStars,
});

const header = z.object({
  kind: z.enum(["light", "flat", "bias", "dark"]).nullable(),
  exposureS: known,
  filter: text.nullable(),
  dateObs: text.nullable(),
  binning: known,
  pixelPitchUm: known,
  focalLengthMm: known,
  wcsScaleArcsecPerPx: known,
  wcsRotationDeg: known,
  altitudeDeg: known,
  focuserPosition: known,
  asked: z.record(text, text),
  cropOriginPx: z.object({ x: z.number(), y: z.number() }).nullable(),
});

/** Shape of a frame as stored; what is longer or otherwise shaped is no frame of ours. */
export const storedFrame = z.object({
  file: text,
  sha256: text,
  key: text,
  format: text,
  widthPx: z.int().positive(),
  heightPx: z.int().positive(),
  header,
  warnings: z.array(text),
  channels: z.array(channel).min(1).max(8),
});

function restoreLevel(stored: z.infer<typeof level>): FrameMeasurement["channels"][number]["background"] {
  const number = (value: number | null) => value ?? Number.NaN;
  return { median: number(stored.median), lo: number(stored.lo), hi: number(stored.hi), cells: stored.cells };
}

/** A frame from what is stored of it; what was null is NaN. */
export function restoreFrame(stored: z.infer<typeof storedFrame>): FrameMeasurement {
  return {
    ...stored,
    channels: stored.channels.map((part) => ({
      ...part,
      gainElectronsPerAdu: part.gainElectronsPerAdu ?? Number.NaN,
      moffatBeta: part.moffatBeta ?? Number.NaN,
      background: restoreLevel(part.background),
      noise: restoreLevel(part.noise),
      stars: restoreStars(part.stars as unknown as StoredStars),
    })),
  };
}

/** The value of a JSON text, undefined where it is none. */
export function parseJson(jsonText: string): unknown {
  try {
    return JSON.parse(jsonText);
  } catch {
    return undefined;
  }
}

/** One frame from its text, null where damaged. */
export function decodeFrame(jsonText: string): FrameMeasurement | null {
  const parsed = storedFrame.safeParse(parseJson(jsonText));
  return parsed.success ? restoreFrame(parsed.data) : null;
}
