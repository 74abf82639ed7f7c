import type { Frame } from "../frames/frame.ts";
import type { FrameMeasurement } from "../stars/frame-measurement.ts";
import { measureFrame } from "../stars/measure-frame.ts";
import type { StarTaskRunner } from "../stars/star-task.ts";
import { type ResamplingRequest, resampleFrame } from "./resample-frame.ts";

export interface MatchedFrameRequest extends ResamplingRequest {
  /** Name to store the frame under, relative to its record. */
  file: string;
  key: string;
}

/**
 * A frame of the finer side brought to the coarser grid and measured by the same measurement as every frame. Positions and
 * widths are in px of that grid; the frame's file and digest are those of the frame it was made from.
 */
export async function measureMatchedFrame(
  frame: Frame,
  request: MatchedFrameRequest,
  run: StarTaskRunner,
): Promise<FrameMeasurement> {
  const { frame: coarse, gainElectronsPerAdu, saturationAdu } = resampleFrame(frame, request);
  const settings = { cfa: null, gainElectronsPerAdu, readNoiseElectrons: null, saturationAdu };
  return measureFrame(coarse, { file: request.file, key: request.key, settings, askedKeywords: [] }, run);
}
