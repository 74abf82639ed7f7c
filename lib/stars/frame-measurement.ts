import type { CfaPattern } from "../records/types.ts";
import type { StarTable } from "./star-table.ts";

/** Keys of the record that change what is measured in a frame; null where the record is silent. */
export interface MeasuringSettings {
  cfa: CfaPattern | null;
  gainElectronsPerAdu: number | null;
  readNoiseElectrons: number | null;
  saturationAdu: number | null;
}

/** Median over the frame's mesh with its 95 % interval, ADU. */
export interface LevelMeasurement {
  median: number;
  lo: number;
  hi: number;
  cells: number;
}

/** One channel of one frame, measured. */
export interface ChannelMeasurement {
  channel: string;
  /** Objects detected, spikes included. */
  found: number;
  background: LevelMeasurement;
  noise: LevelMeasurement;
  gainElectronsPerAdu: number;
  gainIs: "given" | "estimated";
  moffatBeta: number;
  starsLearnedFrom: number;
  warnings: string[];
  stars: StarTable;
}

/** What of a frame's header the analysis may need when the frame is no longer at hand. */
export interface KeptHeader {
  kind: "light" | "flat" | "bias" | "dark" | null;
  exposureS: number | null;
  filter: string | null;
  dateObs: string | null;
  binning: number | null;
  pixelPitchUm: number | null;
  focalLengthMm: number | null;
  wcsScaleArcsecPerPx: number | null;
  wcsRotationDeg: number | null;
  altitudeDeg: number | null;
  focuserPosition: number | null;
  /** Values of keywords that the record asks for by `header:KEYWORD`. */
  asked: Record<string, string>;
  /** Lower left pixel of a part read out of the sensor, px from the sensor's lower left as displayed; null: whole or unknown. */
  cropOriginPx: { x: number; y: number } | null;
}

/** One frame, measured: everything the report needs of it. */
export interface FrameMeasurement {
  /** As the record's folder sees it, with forward slashes. */
  file: string;
  sha256: string;
  /** Digest of the file's digest, the settings and the measuring code: equal keys, equal measurement. */
  key: string;
  format: string;
  widthPx: number;
  heightPx: number;
  header: KeptHeader;
  warnings: string[];
  channels: ChannelMeasurement[];
}

/** A star cut out of the test's first frame for the figures. */
export interface CropMeasurement {
  halfDiagonal: "centre" | "upperLeft" | "upperRight" | "lowerLeft" | "lowerRight";
  /** Relative to the test's folder. */
  file: string;
  xPx: number;
  yPx: number;
  sidePx: number;
}
