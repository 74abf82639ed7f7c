import * as z from "zod";
import { type FrameMeasurement, MEASUREMENT_FORMAT, type TestMeasurement } from "./frame-measurement.ts";
import { restoreStars, STORED_NAMES, type StoredStars } from "./star-digits.ts";

/** Longer than any measurement of ours gets; a damaged or hostile file is not to fill the memory. */
const mostStars = 2_000_000;
const column = z.array(z.number().nullable()).max(mostStars);
const text = z.string().max(4000);
const known = z.number().nullable();

const storedStars = z
  .object({
    ...Object.fromEntries(STORED_NAMES.map((name) => [name, column])),
    flags: z.array(z.int().min(0).max(65535)).max(mostStars),
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

const frame = z.object({
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

const corner = z.enum(["centre", "upperLeft", "upperRight", "lowerLeft", "lowerRight"]);

const measurement = z.object({
  format: z.literal(MEASUREMENT_FORMAT),
  code: text,
  settings: z.object({
    cfa: z.enum(["none", "RGGB", "BGGR", "GRBG", "GBRG"]).nullable(),
    gainElectronsPerAdu: known,
    readNoiseElectrons: known,
    saturationAdu: known,
  }),
  frames: z.array(frame),
  sweep: z.array(frame).optional(),
  crops: z.array(
    z.object({
      halfDiagonal: corner,
      file: text,
      xPx: z.number(),
      yPx: z.number(),
      sidePx: z.int().positive(),
    }),
  ),
});

function restoreLevel(stored: z.infer<typeof level>): FrameMeasurement["channels"][number]["background"] {
  const number = (value: number | null) => value ?? Number.NaN;
  return { median: number(stored.median), lo: number(stored.lo), hi: number(stored.hi), cells: stored.cells };
}

function restoreFrame(stored: z.infer<typeof frame>): FrameMeasurement {
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

function parseJson(jsonText: string): unknown {
  try {
    return JSON.parse(jsonText);
  } catch {
    return undefined;
  }
}

/** The measurement of a test from the text of measured.json; null where the text is no such thing or is damaged. */
export function decodeMeasurement(jsonText: string): TestMeasurement | null {
  const parsed = measurement.safeParse(parseJson(jsonText));
  if (!parsed.success) return null;
  const { frames, sweep, ...rest } = parsed.data;
  return {
    ...rest,
    frames: frames.map(restoreFrame),
    ...(sweep === undefined ? {} : { sweep: sweep.map(restoreFrame) }),
  };
}

/** One frame from its text, null where damaged. */
export function decodeFrame(jsonText: string): FrameMeasurement | null {
  const parsed = frame.safeParse(parseJson(jsonText));
  return parsed.success ? restoreFrame(parsed.data) : null;
}
