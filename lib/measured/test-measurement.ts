import type { ColourMeasurement } from "../colour/colour-measurement.ts";
import type { EdgeMeasurement } from "../colour/edge-measurement.ts";
import type { FlatsMeasurement } from "../light/flat-measurement.ts";
import type { CropMeasurement, FrameMeasurement, MeasuringSettings } from "../stars/frame-measurement.ts";

export const MEASUREMENT_FORMAT = "rig-report-measured/1";

/**
 * All that was measured in one test; `measured.json`.
 *
 * Besides the stars a test may have parts, each measured, typed, stored and restored by the room it belongs to. A part is
 * optional: a file written before it existed is read as one without it. To add one, name its type here, its shape in
 * decode-measurement.ts and its place in encode-measurement.ts.
 */
export interface TestMeasurement {
  format: typeof MEASUREMENT_FORMAT;
  /** Digest of the measuring code. */
  code: string;
  settings: MeasuringSettings;
  frames: FrameMeasurement[];
  /** Frames of the focus sweep, with as many of their stars as the sweep needs; absent where there is none. */
  sweep?: FrameMeasurement[];
  crops: CropMeasurement[];
  /** Halos and cut-outs by colour; absent for frames of one channel. */
  colour?: ColourMeasurement;
  /** The Moon's limb; absent where the record names no edge. */
  edge?: EdgeMeasurement;
  /** What the flats say of the light; absent where there are none. */
  flats?: FlatsMeasurement;
}
