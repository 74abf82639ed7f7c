import type { Camera } from "../records/types.ts";
import type { FrameMeasurement } from "../stars/frame-measurement.ts";

/**
 * The frames in focus: with a list of deliberate focus offsets, those whose offset is nearest to zero. Frames set apart
 * on purpose are not averaged with them.
 */
export function chooseInFocus(
  frames: readonly FrameMeasurement[],
  focusOffsetUm: number | readonly number[],
): FrameMeasurement[] {
  if (typeof focusOffsetUm === "number") return [...frames];
  const offsets = frames.map((_, index) => Math.abs(focusOffsetUm[index] ?? 0));
  const nearest = Math.min(...offsets);
  return frames.filter((_, index) => offsets[index] === nearest);
}

/** A header's pixel size may be rounded; beyond two percent it is another camera's, or binning is told in another way. */
const pitchAllowed = 0.02;

/** Sentences on what the series of frames can and cannot tell. */
export function describeSeries(
  frames: readonly FrameMeasurement[],
  inFocus: readonly FrameMeasurement[],
  unmatched: readonly number[],
  camera: Camera,
): string[] {
  const sentences: string[] = [];
  if (inFocus.length === 1) {
    sentences.push(
      "One frame only: the intervals carry the scatter from star to star, but not how the seeing changed from frame to frame.",
    );
  }
  if (inFocus.length === 2) {
    sentences.push(
      "Two frames say little of how the seeing changed; where they differ the intervals are wide.",
    );
  }
  if (inFocus.length < frames.length) {
    sentences.push(
      `${frames.length - inFocus.length} of ${frames.length} frames were taken out of focus on purpose and are not in the zones.`,
    );
  }
  for (const index of unmatched) {
    sentences.push(`${inFocus[index]?.file ?? "A frame"} shows another field and was left out.`);
  }
  const header = inFocus[0]?.header;
  const pitch = header?.pixelPitchUm ?? null;
  const expected = [camera.pixelPitchUm, camera.pixelPitchUm * (header?.binning ?? 1)];
  if (pitch !== null && expected.every((value) => Math.abs(pitch / value - 1) > pitchAllowed)) {
    sentences.push(
      `The header gives a pixel size of ${pitch} um, the record ${camera.pixelPitchUm} um; the record is used.`,
    );
  }
  return sentences;
}
