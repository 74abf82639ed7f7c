import { makeMeasured, type Quantity } from "../maths/quantity.ts";

export interface TestOffset {
  /** um by which to move the focuser outwards for one frame. */
  offset: Quantity;
  sentence: string;
}

/** Growth of the middle's stars that shows well and keeps faint stars measurable (chosen). */
const growth = 0.4;
const greenUm = 0.55;

/**
 * How far to move the focuser outwards for the one frame that tells the sign of tilt, curvature and defocus. Stars in
 * the middle grow by two fifths at |dz| = 4 N s sqrt((1 + x)^2 - 1) / sqrt(1 + eps^2), with s the sigma of their width
 * in focus (blur of a uniform pupil: variance dz^2 (1 + eps^2) / (16 N^2)); it must also be twice the depth of focus,
 * 2 lambda N^2 (Born & Wolf, section 8.8), or diffraction hides it. Rounded to 5 um.
 */
export function chooseTestOffset(given: {
  focalRatio: number;
  obstruction: number;
  widthUm: number;
}): TestOffset {
  const { focalRatio, obstruction, widthUm } = given;
  const sigma = widthUm / 2.354820045;
  const byWidth =
    (4 * focalRatio * sigma * Math.sqrt((1 + growth) ** 2 - 1)) / Math.sqrt(1 + obstruction * obstruction);
  const byDepth = 4 * greenUm * focalRatio * focalRatio;
  const value = 5 * Math.ceil(Math.max(byWidth, byDepth) / 5);
  return {
    offset: makeMeasured(value, "um", 0.6 * value, 1.5 * value, 1, {
      source: "blur of a uniform pupil; depth of focus 2 lambda N^2, Born & Wolf, section 8.8",
      assumes: "Anything from 0.6 to 1.5 times as far will do, if it is known.",
    }),
    sentence: `To find it, take one more frame with the focuser moved out (sensor away from the telescope) by ${value} um, and write the amount into focusOffsetUm.`,
  };
}
