import type { ReportError } from "../fault.ts";
import { makeFrameError } from "./frame-fault.ts";

/** Said of every 8-bit picture, whatever its format. */
export const eightBitWarning =
  "The picture has 8 bits a sample, as processed pictures have: stretching and rounding change star profiles, so the shapes measured are indicative only.";

/** Said of a JPEG beside that. */
export const jpegWarning =
  "The picture is a JPEG: its compression changes star profiles further. Give the camera's own frames for shapes that can be trusted.";

/** The fault of a frame without a single value. */
export function makeNoValuesError(file: string): ReportError {
  return makeFrameError({
    code: "frames/no-values",
    file,
    found: "not one sample with a value (every one is NaN, infinite or blank)",
    allowed: "a frame with samples",
    fix: "leave the file out of the record, or write it again",
  });
}
