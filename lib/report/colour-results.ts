/** What the channels or filters of a test say of each other: `colour` of one test in results.json. */
import type { Length, Quantity } from "../maths/quantity.ts";
import type { Corner } from "./zone-names.ts";

export interface ColourResults {
  channels: Record<string, ColourChannel>;
  pairs: ColourPair[];
  /** Name of the channel that the others are held against. */
  reference: string;
  /** Colours of a filter array's pixels in one frame, or frames of one pointing through several filters. */
  from: "pixels" | "filters";
  /** Tests that take part: this one alone, or those of one evening through different filters. */
  tests: string[];
  /** What a shift is held against: Airy disc, pixel and star width, um. */
  yardsticks: { airy: Quantity; pixel: Quantity; seeing: Quantity };
  halo: ColourHalo | null;
  /** Stars cut out of the first frame in every channel; `file` is relative to the test's folder. */
  crops: ColourCrop[] | null;
  notes: string[];
}

export interface ColourChannel {
  /** Width of the stars in the centre zone. */
  fwhm: Length;
  /**
   * um: how far the sensor is to be moved away from the telescope from the reference channel's best focus to this
   * channel's. Null without a sweep in both channels.
   */
  bestFocusOffset: Quantity;
  /** um: width in the corners, all four together. */
  cornerFwhm: Quantity;
  /** Middle of the passband reckoned with, nm; null where it is not known. */
  wavelengthNm: number | null;
  stars: number;
}

export interface ColourPair {
  of: string;
  against: string;
  /** um at the very corner, outward positive: by how much farther out the star stands in `of`. */
  lateralAtCorner: Quantity;
  /**
   * um at the corner, a part of `lateralAtCorner`: how much farther apart the mean places of the stars' light lie than the fitted
   * centres. Null with why where it could not be measured; places are then the fitted ones.
   */
  lightBeyondFit: Quantity;
  /** Shift of the whole field: size um, direction of `of` from `against`, deg as displayed, -180 to 180. */
  constantShift: { size: Quantity; angle: Quantity };
  /** um: size that the air's dispersion would have at the altitude. */
  expectedFromAir: Quantity;
  /** ppm: difference of magnification, mean over the sensor. */
  scaleDifference: Quantity;
  /** um at the corner: what grows as the cube of the radius. */
  cubicAtCorner: Quantity;
  /** um along x and y. */
  shiftX: Quantity;
  shiftY: Quantity;
  /** arcsec. */
  shiftOnSky: Quantity;
  expectedOnSky: Quantity;
  /**
   * um: what is left of the shift once the air's is taken off; as a vector where the record tells where the zenith is
   * (`zenithAngleDeg`), else of the sizes.
   */
  beyondAir: Quantity;
  /** um at the corner that the air's unequal refraction over the field adds to the lateral colour. */
  airAtCorner: Quantity;
  /** um for one magnitude of the stars' colour, blue less red: at the corner, and of the whole field. */
  perStarColour: { lateralAtCorner: Quantity; shift: Quantity };
  /** Size of the lateral colour over each yardstick. */
  over: { airy: Quantity; pixel: Quantity; seeing: Quantity };
  class: "none" | "small" | "visible" | "unknown";
  sentence: string;
  stars: number;
  frames: number;
  /** Means in rings of field radius with everything that is not radial taken off; null where nothing was fitted. */
  profile: { rMm: number[]; radial: Quantity[]; stars: number[] } | null;
  curve: { rMm: number[]; um: number[]; loUm: number[]; hiUm: number[] } | null;
}

export interface ColourHalo {
  /** Light counts from here to there about each star. */
  fromUm: Quantity;
  toUm: Quantity;
  fromPx: number;
  toPx: number;
  channels: Record<
    string,
    {
      /** Percent of the star's light between the two radii, median of the bright stars. */
      share: Quantity;
      /** Over that of the reference channel, star by star. */
      overReference: Quantity;
    }
  >;
  /**
   * Light from each distance to the farthest, um from the star: percent of the star's light, and star by star over the reference
   * channel's beyond the same distance.
   */
  beyond: { rUm: number[]; channels: Record<string, { share: Quantity; overReference: Quantity }[]> };
  /** Light a square pixel over the star's whole light, by distance, in each channel. */
  profile: { rUm: number[]; channels: Record<string, Quantity[]> };
}

export interface ColourCrop {
  place: Corner | "centre";
  channel: string;
  file: string;
  sidePx: number;
  rMm: number;
  xMm: number;
  yMm: number;
  /** Place of the star in this channel from the middle of the pixel that the square is cut about, px, y down; null where not found. */
  dxPx: number | null;
  dyPx: number | null;
}
