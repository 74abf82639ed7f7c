/** What the Moon's limb says of the light's spread and of colour fringes: `edge` of one test in results.json. */
import type { Length, Quantity } from "../maths/quantity.ts";

export interface EdgeResults {
  frames: { file: string; sha256: string; stretches: number; warnings: string[] }[];
  /** deg: length of bright limb that was measured, of the frame that shows most. */
  arc: Quantity;
  channels: Record<
    string,
    {
      /** Distance over which the light falls from 90 to 10 %, the pixel's own width in it. */
      spread: Length;
      /** Half-maximum width of the line spread, likewise. */
      fwhm: Length;
      /** um: period of the finest pattern that keeps half its contrast (where the modulation transfer is a half). */
      halfContrastPeriod: Quantity;
    }
  >;
  pairs: EdgePair[];
  /** Every stretch of limb, for the figure; fringes in um, outwards positive. */
  stretches: {
    frame: number;
    angleDeg: number;
    xMm: number;
    yMm: number;
    spreadUm: Record<string, number>;
    fringeUm: Record<string, number>;
  }[];
}

export interface EdgePair {
  of: string;
  against: string;
  /** um and arcsec: widest fringe along the limb as the fit has it. */
  largestFringe: Quantity;
  largestOnSky: Quantity;
  /** Shift of the disc: um, and direction, deg as displayed. The air's share is in it. */
  shift: { size: Quantity; angle: Quantity };
  /** um: by how much the disc's radius is larger in `of`. */
  radiusDifference: Quantity;
  /** um: the same as the stars' lateral colour makes it; null with why where no star was measured. */
  radiusFromStars: Quantity;
  /** Whether the two agree within their intervals; null where one of them is not known. */
  agrees: boolean | null;
  sentence: string;
}
