import type { Frame } from "../frames/frame.ts";
import type { FrameMeasurement } from "../stars/frame-measurement.ts";
import { measureFrame } from "../stars/measure-frame.ts";
import { measurePlane } from "../stars/measure-plane.ts";
import type { LearnedShape } from "../stars/plane-measurement.ts";
import type { StarTaskRunner } from "../stars/star-task.ts";
import { lendShape } from "./lend-shape.ts";
import { choosePlane, type ResamplingRequest, resampleFrame } from "./resample-frame.ts";

export interface MatchedFrameRequest extends ResamplingRequest {
  /** Name to store the frame under, relative to its record. */
  file: string;
  key: string;
}

/** The star profile that the frame teaches on its own, finer grid. */
async function learnShape(
  frame: Frame,
  { channel, gainElectronsPerAdu, saturationAdu }: ResamplingRequest,
  run: StarTaskRunner,
): Promise<LearnedShape> {
  const { widthPx, heightPx } = frame;
  const { samples, sites } = choosePlane(frame, channel);
  const noise = { gainElectronsPerAdu, readNoiseElectrons: null, saturationAdu };
  return (await measurePlane({ widthPx, heightPx, samples, sites }, channel, noise, run)).learned;
}

/**
 * A frame of the finer side brought to the coarser grid and measured by the same measurement as every frame, but that the
 * star profile is the one which the frame taught before: pixels wider than half a star hide the profile's core, and one
 * learned there anew makes all widths wrong alike by up to several percent. Positions and widths are in px of that grid;
 * the frame's file and digest are those of the frame it was made from.
 */
export async function measureMatchedFrame(
  frame: Frame,
  request: MatchedFrameRequest,
  run: StarTaskRunner,
): Promise<FrameMeasurement> {
  const own = await learnShape(frame, request, run);
  const { frame: coarse, gainElectronsPerAdu, saturationAdu } = resampleFrame(frame, request);
  const settings = { cfa: null, gainElectronsPerAdu, readNoiseElectrons: null, saturationAdu };
  const learned = lendShape(own, frame, coarse, request.pixelRatio);
  const { file, key } = request;
  return measureFrame(coarse, { file, key, settings, askedKeywords: [], learned }, run);
}
