import * as z from "zod";
import { parseJson, restoreFrame, storedFrame } from "../stars/decode-frame.ts";
import { formatJson, storeFrame } from "../stars/encode-frame.ts";
import { MATCHED_FORMAT, type MatchedMeasurement } from "./matched-measurement.ts";

const text = z.string().max(4000);
const named = z.object({ train: text, test: text });

const storedMatched = z.object({
  format: z.literal(MATCHED_FORMAT),
  code: text,
  key: text,
  coarser: z.enum(["a", "b"]),
  finer: named,
  onto: named,
  pixelRatio: z.number().min(1).max(100),
  frames: z.array(storedFrame).max(10_000),
});

/** The text of a comparison's measured.json. The same measurement gives the same bytes. */
export function encodeMatched(measurement: MatchedMeasurement): string {
  const { format, code, key, coarser, finer, onto, pixelRatio, frames } = measurement;
  const head = { format, code, key, coarser, finer, onto, pixelRatio };
  return `${formatJson({ ...head, frames: frames.map(storeFrame) })}\n`;
}

/** The matched measurement from its text; null where the text is no such thing or is damaged. */
export function decodeMatched(jsonText: string): MatchedMeasurement | null {
  const parsed = storedMatched.safeParse(parseJson(jsonText));
  if (!parsed.success) return null;
  return { ...parsed.data, frames: parsed.data.frames.map(restoreFrame) };
}
