import { makeRandom } from "../maths/random.ts";
import { remember } from "../maths/remember.ts";
import { estimateMadSigma, median } from "../maths/statistics.ts";
import type { StarTable } from "../stars/star-table.ts";
import { drawFields } from "./draw-fields.ts";
import { listExpected } from "./expected-field.ts";
import { estimateExplained } from "./explained-share.ts";
import { extendProblem, startExtended } from "./extend-model.ts";
import { type BlurOptics, NIGHT } from "./field-model.ts";
import { type FieldProblem, type FrameSamples, placeNight } from "./field-problem.ts";
import { computeHalfDiagonalMm, type SensorGeometry } from "./geometry.ts";
import { type FittedPoint, refineFit } from "./refine-fit.ts";
import { sampleShapes } from "./sample-shapes.ts";
import { type FieldMode, foldSign, keepValleys, searchValleys, weighModes } from "./search-valleys.ts";

export { negateField } from "./search-valleys.ts";

export type RadialMeans = "tooClose" | "tooFar" | "unknown";

/** What the field model must know of the train and of the scale. */
export interface FieldOptics extends BlurOptics {
  umPerPx: number;
  arcsecPerPx: number;
  geometry: SensorGeometry;
  /** What long axes that point away from the centre mean for this corrector. */
  radialMeans: RadialMeans;
}

/** Stars of one frame; `focusOffsetUm` says how far the sensor was moved away from the telescope for it. */
export interface FieldFrame {
  stars: StarTable;
  focusOffsetUm: number;
}

/**
 * The field model fitted to a test's frames. Parameters are laid out as `TERM` and `NIGHT` of field-model.ts say.
 * `draws` are fields that agree with the stars about as well, as often as they are believed: intervals and confidences
 * are read off them.
 */
export interface FieldFit {
  parameters: Float64Array;
  draws: Float64Array[];
  modes: FieldMode[];
  problem: FieldProblem;
  optics: FieldOptics;
  /** Stars that took part, over all frames. */
  stars: number;
  /** Share of the variation over the field that the model explains, with its interval; null where there is none. */
  explained: { value: number; lo: number; hi: number } | null;
  /** Whether frames at different focus offsets took part. */
  hasOffsets: boolean;
}

/** Fewer stars than this do not settle eleven terms. */
export const FEWEST_STARS = 30;
/** Samples of all frames together: cells beyond this no longer add to what is known, only to the time. */
const samplesAllowed = 560;

/**
 * How far the wave-optics model itself may be off: a band of wavelengths instead of one, seeing with an outer scale,
 * the star profile's own bias in the measured widths. Chosen from noiseless comparisons with drawn stars.
 */
const modelError = { lnWidth: 0.004, e: 0.005 };

/**
 * The model stretches a star in focus as a whole by tracking, diffraction included, and as a drift does not quite; what
 * this leaves grows with the square of the elongation (from simulated drifts).
 */
const stretchError = { lnWidth: 0.12, e: 0.2 };

/** The model's error for the strongest tracking among the frames. */
function widenModelError(problem: FieldProblem, parameters: Float64Array): FieldProblem["modelError"] {
  const square = problem.frames.reduce((most, _, f) => {
    const own = placeNight(f);
    return Math.max(most, parameters[own + NIGHT.e1] ** 2 + parameters[own + NIGHT.e2] ** 2);
  }, 0);
  return {
    lnWidth: Math.hypot(modelError.lnWidth, stretchError.lnWidth * square),
    e: Math.hypot(modelError.e, stretchError.e * square),
  };
}

/** Scales the errors to what the residuals show, never below what they claim. */
function estimateErrorFactor(problem: FieldProblem, point: FittedPoint): FieldProblem["errorFactor"] {
  const widths = point.residuals.filter((_, i) => i % 3 === 0);
  const pairs = point.residuals.filter((_, i) => i % 3 !== 0);
  const grow = (factor: number, values: Float64Array): number =>
    Math.min(6, Math.max(1, factor * estimateMadSigma(values)));
  return { lnWidth: grow(problem.errorFactor.lnWidth, widths), e: grow(problem.errorFactor.e, pairs) };
}

/** Valleys whose cost lies this far above the best are not believed (a probability below 0.1 %). */
const believedCost = 14;

/**
 * Fits the field model to the stars of one or several frames of a test, robustly and all at once: focal surface with
 * tilt, curvature and astigmatism about a centre of its own; for each frame the seeing and one spin-2 term of
 * tracking. Frames at different known focus offsets settle the sign of all heights.
 *
 * Deterministic: `seed` alone sets the guesses from which the search starts and the draws of the intervals.
 *
 * @returns the fit, or why there is none
 */
export function fitField(
  frames: readonly FieldFrame[],
  optics: FieldOptics,
  options: { seed: number },
): FieldFit | { why: string } {
  return remember("field/fit-field", fitAnew, frames, optics, options);
}

function fitAnew(
  frames: readonly FieldFrame[],
  optics: FieldOptics,
  options: { seed: number },
): FieldFit | { why: string } {
  const why = findObstacle(optics);
  if (why !== null) return { why };
  const perFrame = Math.max(48, Math.floor(samplesAllowed / Math.max(1, frames.length)));
  const usable: FrameSamples[] = frames
    .map(({ stars, focusOffsetUm }) => ({
      samples: sampleShapes(stars, optics.geometry, perFrame),
      focusOffsetUm,
    }))
    .filter(({ samples }) => samples.count.length >= 6);
  const stars = usable.reduce((sum, { samples }) => sum + samples.count.reduce((a, b) => a + b, 0), 0);
  if (stars < FEWEST_STARS) {
    return { why: `Only ${stars} usable stars: the field model needs ${FEWEST_STARS} or more.` };
  }
  const middle = median(usable.map(({ focusOffsetUm }) => focusOffsetUm));
  const hasOffsets = usable.some(({ focusOffsetUm }) => focusOffsetUm !== middle);
  const halfDiagonalMm = computeHalfDiagonalMm(optics.geometry);
  let problem: FieldProblem = {
    frames: usable,
    optics,
    halfDiagonalMm,
    expected: listExpected(
      usable.map(({ samples }) => samples),
      halfDiagonalMm,
      optics.umPerPx,
    ),
    expectedDriftUm: 0,
    modelError,
    errorFactor: { lnWidth: 1, e: 1 },
  };
  const first = searchValleys(problem, options.seed, hasOffsets);
  problem = {
    ...problem,
    modelError: widenModelError(problem, first[0].parameters),
    errorFactor: estimateErrorFactor(problem, first[0]),
  };
  const refined = first.slice(0, 6).map((point) => refineFit(problem, point.parameters, 12));
  const best = refined.reduce((least, point) => (point.cost < least.cost ? point : least));
  const extended = extendProblem(problem, best, (other) =>
    searchValleys(other, options.seed, hasOffsets).slice(0, 6),
  );
  const settled =
    extended.problem === problem
      ? refined
      : [...refined, ...extended.tried].map((point) =>
          refineFit(extended.problem, startExtended(extended.problem, point), 12),
        );
  problem = extended.problem;
  const valleys = keepValleys(
    settled.map((point) => foldSign(point, hasOffsets)),
    halfDiagonalMm,
    believedCost,
  );
  const modes = weighModes(valleys);
  return {
    parameters: modes[0].point.parameters,
    draws: drawFields(problem, modes, makeRandom(options.seed + 1)),
    modes,
    problem,
    optics,
    stars,
    explained: estimateExplained(problem, modes[0].point, makeRandom(options.seed + 2)),
    hasOffsets,
  };
}

function findObstacle(optics: FieldOptics): string | null {
  const positive = [optics.focalRatio, optics.wavelengthUm, optics.umPerPx, optics.arcsecPerPx];
  if (!positive.every((value) => Number.isFinite(value) && value > 0)) {
    return "The focal ratio, the wavelength and the scale must be known, each above zero.";
  }
  if (!(optics.obstructionRatio >= 0 && optics.obstructionRatio < 1)) {
    return "The central obstruction must be below the aperture.";
  }
  return null;
}
