import { type Fault, ReportError } from "../fault.ts";

/** A fault of one frame file as the single thing that is wrong with it; `cause` keeps the foreign error for `--debug`. */
export function makeFrameError(fault: Fault, cause?: unknown): ReportError {
  return new ReportError([fault], cause === undefined ? undefined : { cause });
}
