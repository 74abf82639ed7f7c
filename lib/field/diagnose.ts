import type { Tolerances } from "../records/types.ts";
import type { TestResults } from "../report/results.ts";
import { countClasses, judge } from "./confidence.ts";
import { toEllipticity } from "./debias-ellipticity.ts";
import { describeContradiction, describeDiagnosis } from "./describe-diagnosis.ts";
import { TERM } from "./field-model.ts";
import { makeTrackingReader } from "./field-results.ts";
import type { FieldFit, RadialMeans } from "./fit-field.ts";
import { judgeCorners } from "./judge-corners.ts";
import { orientFields } from "./orient-fields.ts";
import { type SweptTilt, weighTilt } from "./weigh-tilt.ts";

export type Diagnosis = NonNullable<TestResults["diagnosis"]>;

export interface DiagnosisOptions {
  tolerances: Tolerances;
  /** What a ledger of this train's spacings has found; overrides the record's `radialMeans`. */
  ledgerRadialMeans?: RadialMeans | null;
  /** What a focus sweep of the same test says of the tilt. */
  sweep?: SweptTilt | null;
  seed: number;
}

/** Limits that the verdicts are about, as used for one fit. */
export interface DiagnosisLimits {
  /** Height that the focal surface rises or falls from centre to corner by curvature alone, um. */
  curvatureUm: number;
  /** Tilt over the sensor's diagonal, um. */
  tiltAcrossUm: number;
  /** Ellipticity that tracking gives a star at the centre. */
  trackingEllipticity: number;
}

/** Used where the record names no tolerance, um across: the reviewer's own default. */
const tiltTolerated = 40;
/** A star elongated by less than this looks round. */
const trackingSeen = 0.04;

/**
 * From where on a cause counts as there.
 *
 * Spacing: a fall of the focal surface from centre to corner by more than the depth of focus 2 lambda N2 (quarter wave;
 * Smith, Modern Optical Engineering, 2008); focusing halfway leaves half of it at centre and corner. Tilt: half of
 * what the record tolerates (so that it is named before it fails), never less than lambda N2, which no star shows.
 */
export function chooseLimits(fit: FieldFit, tolerances: Tolerances): DiagnosisLimits {
  const waves = fit.optics.wavelengthUm * fit.optics.focalRatio ** 2;
  return {
    curvatureUm: 2 * waves,
    tiltAcrossUm: Math.max((tolerances.tiltAcrossUm ?? tiltTolerated) / 2, waves),
    trackingEllipticity: trackingSeen,
  };
}

const PRESENCE = ["present", "none"] as const;
export const SPACING_CLASSES = ["tooClose", "tooFar", "good"] as const;

/** Class of a focal surface's fall by curvature from centre to corner, um: below zero the corners' focus lies behind the sensor. */
export function classifySpacing(fallUm: number, limitUm: number): (typeof SPACING_CLASSES)[number] {
  if (Math.abs(fallUm) <= limitUm) return "good";
  return fallUm < 0 ? "tooClose" : "tooFar";
}

/** Everything the verdicts rest on: classes with their beliefs before calibration. */
export function judgeField(fit: FieldFit, options: DiagnosisOptions) {
  const oriented = orientFields(fit, options.ledgerRadialMeans ?? null);
  const limits = chooseLimits(fit, options.tolerances);
  const r = fit.problem.halfDiagonalMm;
  const { draws } = oriented;
  const spacingBeliefs = countClasses(draws, SPACING_CLASSES, (draw) =>
    classifySpacing(draw[TERM.curvature] * r * r, limits.curvatureUm),
  );
  const radialMeans = options.ledgerRadialMeans ?? fit.optics.radialMeans;
  const hasSign = fit.hasOffsets || radialMeans !== "unknown";
  if (!hasSign) {
    const off = spacingBeliefs.tooClose + spacingBeliefs.tooFar;
    spacingBeliefs.tooClose = spacingBeliefs.tooFar = off / 2;
  }
  const weighed = weighTilt(oriented, options.sweep ?? null, {
    seed: options.seed,
    mattersUmPerMm: limits.tiltAcrossUm / (2 * r),
  });
  const tilt = countClasses(weighed.draws, PRESENCE, ([x, y]) =>
    Math.hypot(x, y) * 2 * r > limits.tiltAcrossUm ? "present" : "none",
  );
  const readTracking = makeTrackingReader(fit);
  const tracking = countClasses(draws, PRESENCE, (draw) =>
    toEllipticity(Math.hypot(...readTracking(draw))) > limits.trackingEllipticity ? "present" : "none",
  );
  return {
    oriented,
    limits,
    spacing: judge("spacing", spacingBeliefs),
    isCurved: 1 - spacingBeliefs.good,
    tilt: judge("tilt", tilt),
    weighed,
    tracking: judge("tracking", tracking),
    corners: judgeCorners(fit, options.seed),
  };
}

/**
 * What ails the frames: spacing, tilt, tracking and each corner, with calibrated confidence, and a sentence that says
 * it. Spacing is judged from the stars alone, by the sign of the field's curvature: a focal surface that falls behind
 * the sensor towards the corners means too close, one that rises in front of it too far. Where the sign of the heights
 * is not known a curved field is "unknown", and the sentence says that it is curved.
 */
export function diagnose(fit: FieldFit, options: DiagnosisOptions): Diagnosis {
  const { oriented, limits, spacing, isCurved, tilt, weighed, tracking, corners } = judgeField(fit, options);
  const across = 2 * fit.problem.halfDiagonalMm;
  return {
    spacing: toVerdict(spacing),
    tilt: toVerdict(tilt),
    tracking: toVerdict(tracking),
    corners: {
      upperLeft: toVerdict(corners.upperLeft),
      upperRight: toVerdict(corners.upperRight),
      lowerLeft: toVerdict(corners.lowerLeft),
      lowerRight: toVerdict(corners.lowerRight),
    },
    tiltFrom: weighed.from,
    contradiction: weighed.contradiction === null ? null : describeContradiction(weighed, across),
    sentence: describeDiagnosis({
      fit,
      oriented,
      limits,
      weighed,
      spacing: spacing.class,
      isCurved,
      tilt: tilt.class,
      tracking: tracking.class,
      corners,
    }),
  };
}

function toVerdict<Class extends string>(verdict: { class: Class; confidence: number }) {
  return { class: verdict.class, confidence: verdict.confidence };
}
