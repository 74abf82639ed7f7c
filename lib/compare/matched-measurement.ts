import type { FrameMeasurement } from "../stars/frame-measurement.ts";

export const MATCHED_FORMAT = "rig-report-matched/1";

/**
 * The frames of the finer side, resampled onto the pixel grid of the coarser one and measured again;
 * `comparisons/<id>.measured.json`. Positions and widths are in pixels of the coarser side.
 */
export interface MatchedMeasurement {
  format: typeof MATCHED_FORMAT;
  /** Digest of the code that resamples and measures. */
  code: string;
  /** Digest of frames, scale and code: equal keys, equal measurement. */
  key: string;
  coarser: "a" | "b";
  /** Test whose frames were resampled, and the one whose grid they were brought to. */
  finer: { train: string; test: string };
  onto: { train: string; test: string };
  /** Pixels of the finer frame to one of the coarser: the ratio of their angular sizes, above 1. */
  pixelRatio: number;
  frames: FrameMeasurement[];
}
