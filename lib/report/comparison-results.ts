/** What a comparison's results.json holds, and one entry of `comparisons` of a train's. */

import type { Length, Quantity } from "../maths/quantity.ts";
import type { ScaleResults } from "./scale-results.ts";
import type { TestResults } from "./test-results.ts";
import type { Zone } from "./zone-names.ts";

export type Verdict = "aSharper" | "bSharper" | "noDifference" | "cannotTell";

export interface Comparison {
  format?: "rig-report-comparison/1";
  id: string;
  name: string;
  /** `test` is empty where the train has no test yet: its records alone are then compared. */
  a: { train: string; test: string };
  b: { train: string; test: string };
  /** What is known of each side, for reading the numbers and for the pictures. */
  sides: { a: ComparedSide; b: ComparedSide };
  ratio: Quantity; // focal length of b over that of a, from common stars
  nominalRatio: Quantity;
  rotation: Quantity; // deg, turns a into b, counter-clockwise as displayed
  /** Where ratio and rotation come from, and what follows from them. */
  scales?: ScaleResults;
  zones: Record<Zone, ComparedZone>;
  matched: null | {
    coarser: "a" | "b";
    zones: Record<Zone, { a: Quantity; b: Quantity; difference: Quantity }>;
  }; // px of the coarser grid
  /** Why `matched` is null, in one sentence; absent where it is not. */
  matchedWhy?: string;
  /** Both sides against field radius; null where a side has no stars. */
  curves: null | {
    /** At equal distance from the sensor's centre. */
    onSensor: ComparedRing[];
    /** At equal angle from the axis. */
    onSky: ComparedRing[];
  };
  nights: ComparedNights;
  /** Everything else that a reader compares, in the order in which the page lists it. */
  equipment: EquipmentLine[];
  verdict: {
    // on the corners
    px: UnitVerdict;
    um: UnitVerdict; // the optics' own blur on the sensor
    arcsec: UnitVerdict; // as seen on the sky
    matched: UnitVerdict;
    /** On the sky, both put under one night by calculation. */
    oneNight: UnitVerdict;
    overall: string;
    /** The same judgement for every zone. */
    zones: Record<Zone, Record<VerdictUnit, Verdict>>;
  };
}

export type VerdictUnit = "px" | "um" | "arcsec" | "matched" | "oneNight";

export interface UnitVerdict {
  class: Verdict;
  sentence: string;
  /** b minus a, in the unit judged. */
  difference: Quantity;
  /** The smallest difference that matters: within it on both sides, the class is "noDifference". */
  matters: Quantity;
  /** The smallest difference that data of this kind would show four times in five. */
  shown: Quantity;
}

export interface ComparedSide {
  trainName: string;
  /** What tells this side from the other in a few words: the train, or the state of one train. */
  label: string;
  date: string | null;
  spacersMm: number[] | null;
  spacingError: Quantity | null; // mm
  /**
   * um and arcsec of one pixel as binned, by which this comparison goes: by the focal lengths measured against each other
   * where there are such; null where no star was measured.
   */
  scale: TestResults["scale"] | null;
  /** The same as the side's own page has it. */
  ownScale?: TestResults["scale"] | null;
  /** The colour whose stars are compared: "L" where there is one only. */
  channel?: string | null;
  sensor: { widthMm: number; heightMm: number };
  /** Cut-outs of single stars; `file` is relative to the test's folder. */
  cutouts: NonNullable<TestResults["spokes"]>["crops"];
}

/** Both sides in one region of the field; differences are b minus a. FWHM. */
export interface ComparedZone {
  a: Length;
  b: Length;
  difference: Length;
  /** um: seeing, tracking and diffraction taken out; FWHM of the Gaussian of the same spread. A lower end of 0 makes the upper end a limit. */
  optics: { a: Quantity; b: Quantity; difference: Quantity };
  /** ratio: over the width at the own centre. */
  overCentre: { a: Quantity; b: Quantity; difference: Quantity };
  /** arcsec: as both would be under the mean of the two nights, by calculation. */
  underOneNight: { a: Quantity; b: Quantity; difference: Quantity };
}

export interface ComparedRing extends Omit<ComparedZone, "underOneNight"> {
  /** Middle of the ring. */
  at: { value: number; unit: "mm" | "deg" };
  stars: { a: number; b: number };
}

/** What is known of one side's night. */
export interface NightFacts {
  date: string | null;
  frames: number;
  exposure: Quantity; // s, of one frame
  altitude: Quantity; // deg
  seeing: Quantity; // arcsec, from the field model
  /** arcsec, FWHM: air and guiding together, diffraction taken out. */
  airAndGuiding: Quantity;
  tracking: Quantity; // ratio, ellipticity it gives a star at the centre
  guidingRms: Quantity; // arcsec, where a guiding log is on record
  /** percent: how much the frames' widths scatter about their mean, one sigma. */
  frameScatter: Quantity;
  filter: string | null;
  target: string | null;
  moon: string | null;
}

export interface ComparedNights {
  a: NightFacts;
  b: NightFacts;
  sameNight: boolean;
  /** arcsec: the night that both are put under for `underOneNight`. */
  commonNight: Quantity;
  /** How far the two nights differ, in plain words. */
  sentence: string;
  /** What to shoot to settle what is open; empty where nothing is. */
  shoot: string[];
}

export interface EquipmentLine {
  id: string;
  name: string;
  a: Quantity;
  b: Quantity;
  /** b over a as a ratio, or b minus a in the unit; null where neither means anything. */
  change: Quantity | null;
  changeIs: "ratio" | "difference" | null;
  explanation: string;
}
