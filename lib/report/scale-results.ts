/** How the sky of one side of a comparison falls on the other: part of a comparison's results.json. */
import type { Quantity } from "../maths/quantity.ts";

export interface ScaleResults {
  /** What the ratio rests on: stars both sides show, plate solutions in the frames' headers, or the records alone. */
  from: "stars" | "plate solutions" | "records";
  /** Why the stars do not tell it, in one sentence; null where they do. */
  why: string | null;
  commonStars: number;
  /** Pairs of frames in which common stars were found. */
  framePairs: number;
  /** Decimal logarithm of the chance that two unrelated fields look as alike; null without common stars. */
  falseAlarmLog10: number | null;
  /** One side shows the sky as in a mirror; null where that is not known. Rotation then turns a's mirror image. */
  mirrored: boolean | null;
  /** px of b: distance of common stars from the fitted map, along each axis. */
  residual: Quantity;
  /** percent by which b's radii are longer at `cornerAngle` from the axis than the ratio alone makes them, against a's. */
  distortion: Quantity;
  /** deg from the optical axis: the corner of the smaller field. */
  cornerAngle: Quantity;
  /** percent between the largest and the smallest scale of b over a in one field, by direction. */
  stretch: Quantity;
  /** deg, direction on b in which its scale is largest. */
  stretchAngle: Quantity;
  /** percent by which the air of both altitudes changes the ratio; not taken out of it. */
  air: Quantity;
  /** percent by which the ratio differs from the nominal one. */
  againstNominal: Quantity;
  /** mm and f-number as used; one side is the measure for the other, see `assumes` of each. */
  focalLength: { a: Quantity; b: Quantity };
  focalRatio: { a: Quantity; b: Quantity };
  /** arcsec/px of the frames as stored, binning counted in. */
  imageScale: { a: Quantity; b: Quantity };
  /** Angular size of b's pixel over that of a's. */
  pixelRatio: Quantity;
  /** The corrector as one thin lens; null where neither side has a reducer or extender. */
  reducer: ReducerResults | null;
  /** What a reader should know of the above, plain sentences. */
  sentences: string[];
}

export interface ReducerResults {
  side: "a" | "b";
  /** Focal length with the corrector over that without, as measured and as its maker states. */
  factor: Quantity;
  nominalFactor: Quantity;
  /** Factor at each spacing that was measured; mm from the corrector's shoulder, glass counted off. */
  states: { test: string; spacingMm: number; factor: Quantity }[];
  /** mm; null with why where the spacings do not tell it. */
  focalLength: Quantity;
  /** mm behind the corrector's shoulder, towards the sensor; null with why. */
  principalPlane: Quantity;
  /** percent by which 0.1 mm more spacing changes the focal length. */
  perTenthMm: Quantity;
  sentence: string;
}
