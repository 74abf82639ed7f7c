import type { EllipticityCorrection } from "./correct-ellipticity.ts";
import type { ProfileField } from "./profile-field.ts";
import type { StarTable } from "./star-table.ts";

/** A smooth map on a coarse mesh: value at the centre of each mesh cell, row-major, row 0 at the top. */
export interface MeshMap {
  columns: number;
  rows: number;
  /** Side of a cell, px of the frame. */
  cellPx: number;
  values: Float32Array;
}

/** What a channel's bright stars told of all its stars: air and tracking are the same for every colour of a frame. */
export interface LearnedShape {
  /** The star profile as it changes over the frame. */
  field: ProfileField;
  /** What the half-maximum contours have beyond the fitted ellipses. */
  ellipticity: EllipticityCorrection;
  /** The profile holds as it is: better sampled pixels told it, and those it is lent to teach nothing more. */
  isSettled?: boolean;
}

/** What the measuring of one channel of one frame yields. */
export interface PlaneMeasurement {
  channel: string;
  stars: StarTable;
  /** Objects detected, spikes included. */
  found: number;
  /** Background and noise (one sigma a pixel), ADU. */
  background: MeshMap;
  noise: MeshMap;
  learned: LearnedShape;
  /** The learned star profile of the frame's middle: light per area against radius in half-widths at half-maximum. */
  profile: { radiusHwhm: number[]; relative: number[]; moffatBeta: number; starsLearnedFrom: number };
  /** e-/ADU used in the noise model, and whether it was given or estimated from the frame. */
  gainElectronsPerAdu: number;
  gainIs: "given" | "estimated";
  warnings: string[];
}
