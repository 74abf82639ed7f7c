import * as z from "zod";
import { storedColour, storedEdge } from "../colour/decode-colour.ts";
import { storedFlats } from "../light/flats-digits.ts";
import { settle } from "../maths/digest-data.ts";
import { parseJson, restoreFrame, storedFrame } from "../stars/decode-frame.ts";
import { MEASUREMENT_FORMAT, type TestMeasurement } from "./test-measurement.ts";

const text = z.string().max(4000);
const known = z.number().nullable();
const place = z.enum(["centre", "upperLeft", "upperRight", "lowerLeft", "lowerRight"]);

const storedMeasurement = z.object({
  format: z.literal(MEASUREMENT_FORMAT),
  code: text,
  settings: z.object({
    cfa: z.enum(["none", "RGGB", "BGGR", "GRBG", "GBRG"]).nullable(),
    gainElectronsPerAdu: known,
    readNoiseElectrons: known,
    saturationAdu: known,
  }),
  frames: z.array(storedFrame),
  sweep: z.array(storedFrame).optional(),
  crops: z.array(
    z.object({
      halfDiagonal: place,
      file: text,
      xPx: z.number(),
      yPx: z.number(),
      sidePx: z.int().positive(),
    }),
  ),
  colour: storedColour.optional(),
  edge: storedEdge.optional(),
  flats: storedFlats.optional(),
});

/** The measurement of a test from the text of measured.json; null where the text is no such thing or is damaged. */
export function decodeMeasurement(jsonText: string): TestMeasurement | null {
  const parsed = storedMeasurement.safeParse(parseJson(jsonText));
  if (!parsed.success) return null;
  const { frames, sweep, flats, colour, edge, ...rest } = parsed.data;
  const measurement: TestMeasurement = {
    ...rest,
    frames: frames.map(restoreFrame),
    ...(sweep === undefined ? {} : { sweep: sweep.map(restoreFrame) }),
    ...(colour === undefined ? {} : { colour }),
    ...(edge === undefined ? {} : { edge }),
    ...(flats === undefined ? {} : { flats }),
  };
  for (const { channels } of [...measurement.frames, ...(measurement.sweep ?? [])])
    for (const { stars } of channels) settle(stars);
  return settle(measurement);
}
