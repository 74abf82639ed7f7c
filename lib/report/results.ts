/**
 * The results object: what a train's results.json and a comparison's results.json hold, and all that figures,
 * tables and pages are made from. Names, units and meanings are binding for readers of the files.
 */
import type { TiltSources } from "../field/tilt-sources.ts";
import type { Quantity } from "../maths/quantity.ts";
import type { Extra } from "../train/extra.ts";
import type { PartSum } from "../train/sum-equipment.ts";
import type { Comparison } from "./comparison-results.ts";
import type { FlatAgreement } from "./flat-agreement.ts";
import type { TestResults } from "./test-results.ts";

export type { Length, Quantity, Unit } from "../maths/quantity.ts";

export type {
  ComparedNights,
  ComparedRing,
  ComparedSide,
  ComparedZone,
  Comparison,
  EquipmentLine,
  NightFacts,
  UnitVerdict,
  Verdict,
  VerdictUnit,
} from "./comparison-results.ts";
export type { TestResults } from "./test-results.ts";
export type { Confidence, Corner, Zone } from "./zone-names.ts";

export interface TrainResults {
  format: "rig-report-results/1";
  id: string;
  name: string;
  train: unknown; // the record, parts resolved
  provenance: { software: string; measurementFormat: string; records: FileHash[]; frames: FileHash[] };
  sampling: Record<
    | "focalLength"
    | "focalRatio"
    | "imageScale"
    | "fieldWidth"
    | "fieldHeight"
    | "fieldDiagonal"
    | "airyDiameter"
    | "dawesLimit"
    | "rayleighLimit"
    | "depthOfFocus"
    | "pixelsPerSeeing"
    | "lightGrasp",
    Quantity
  >;
  backFocus: null | {
    required: Quantity; // mm, in air, from the corrector's record
    plateShift: Quantity; // mm, sum of t(1 - 1/n)
    plateShiftRuleOfThumb: Quantity; // mm, sum of t/3
    mechanical: Quantity; // mm
    spacingError: Quantity; // mm, positive: too far
    lines: {
      part: string;
      lengthMm: number;
      plateShiftMm: number;
      fromSensorMm: number;
      clearDiameterMm: number | null;
    }[];
  };
  tests: TestResults[];
  ledger: null | {
    rows: {
      test: string;
      date: string;
      spacingError: Quantity;
      curvature: Quantity;
      astigmatism: Quantity;
      radial: Quantity;
      tiltAcross: Quantity;
      seeing: Quantity;
      spacersMm?: number[] | null;
      /** Where curvature and astigmatism come from. */
      from?: "sweep" | "field" | null;
    }[];
    best: Quantity; // mm, spacing error at which the corners are best
    nextMove: Quantity; // mm, to add (positive) or remove (negative)
    combination: number[] | null; // mm, spacers and shims owned that make the new stack
    sentence: string;
    stage?: "nothing" | "direction" | "bracket" | "optimum";
    /** Nothing is to be changed: the gain would be below what one night differs from the next. */
    stop?: boolean;
    bracketMm?: [number, number] | null;
    /** What long axes along the radius mean for this corrector, as the nights tell. */
    radialMeans?: "tooClose" | "tooFar" | null;
    /** Straight lines in the spacing error over all nights. */
    lines?: Record<"curvature" | "astigmatism" | "radial", LedgerLine | null>;
    bestFrom?: "surface" | "radial" | null;
    /** Width of the corners' stars over that in focus at the best spacing, without tilt. */
    expectedCorner?: Quantity | null;
    spacerTilts?: { before: string; after: string; change: Quantity }[];
    notes?: string[];
  };
  /** The tilt by its source; null where fewer than two tests of one stack tell it. */
  tiltSources?: TiltSources | null;
  /** Flats of each night against those of the night with flats before it. */
  flatAgreement?: FlatAgreement[];
  comparisons: Comparison[];
  findings: Finding[];
  /** Further numbers from the records, beside those of `sampling` and `backFocus`. */
  extras?: { sampling: Extra[]; backFocus: Extra[] };
  /** Weight (g), length (mm) and price of optics, rings and camera together, from the record; `value` null where a part states none. */
  equipment?: { weightG: PartSum; lengthMm: PartSum; prices: { currency: string; sum: PartSum }[] };
  /** The author's page, club and site wording that the page needs, and the records word for word. */
  page: {
    author: string;
    club: string;
    records: { file: string; text: string }[];
    /** The prose of review.md; lines of its head are empty, so that lines count as in the file. */
    reviewMarkdown: string | null;
    /** The report is unfinished: its page is marked and stays out of lists. */
    draft?: boolean;
    /** The report in one sentence by its author; empty where there is none. */
    summary?: string;
    cautions: string[];
  };
}

/** y = at0 + perMm s; variances of the two and their covariance, the nights' scatter over their intervals, factor to 95 %. */
export interface LedgerLine {
  at0: number;
  perMm: number;
  varianceAt0: number;
  variancePerMm: number;
  covariance: number;
  stretch: number;
  reach: number;
  nights: number;
}

export interface FileHash {
  file: string;
  sha256: string;
}
export interface Finding {
  /** By which prose quotes it: "corner-width"; without one it goes by its first evidence. */
  name?: string;
  level: "pass" | "watch" | "fail" | "note";
  sentence: string;
  evidence: string[];
  action: string | null;
}
