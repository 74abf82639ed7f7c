import { assembleTable } from "./assemble-table.ts";
import { sampleMesh } from "./background.ts";
import type { Candidates } from "./candidates.ts";
import { chooseProfileStars } from "./choose-profile-stars.ts";
import { type EllipticityCorrection, fitEllipticityCorrection } from "./correct-ellipticity.ts";
import { findCandidates } from "./detect.ts";
import { gainTask, readGain } from "./estimate-gain.ts";
import { FITTED, type FitFrame } from "./fit-stars.ts";
import { flagAfterFit } from "./flag-after-fit.ts";
import { learnProfileField, makePlainField } from "./learn-field.ts";
import { listNeighbours } from "./list-neighbours.ts";
import type { LearnedShape, PlaneMeasurement } from "./plane-measurement.ts";
import { TABLE_STEPS } from "./profile.ts";
import { makeProfileReader, type ProfileField } from "./profile-field.ts";
import type { CameraNoise, SamplePlane } from "./samples.ts";
import { dealJobs, fitStars, takeStarts } from "./split-jobs.ts";
import { PARAMETERS } from "./star-model.ts";
import { STAR_FLAGS } from "./star-table.ts";
import type { StarTaskRunner } from "./star-task.ts";

/** Radius of the pixels a star is fitted to, in its FWHM: 98 % of what they tell of its shape lies within. */
const stampWidths = 2.2;

/** How far the background under a star may lie from the map, in sigmas of a pixel: nebulosity, unseen faint stars. */
const backgroundFreedom = 0.2;

/** Rounds in which stars with neighbours are fitted again with the neighbours' light taken off. */
const neighbourRounds = 2;

/** Stars this many site spacings wide tell their own contour (chosen on drawn colour frames of 1.6 to 4 px). */
const ownContourSpacings = 1.7;

/** Gain reckoned with until the frame has told its own, e-/ADU. */
const gainBeforeEstimate = 1;

/**
 * Measures all stars of one channel of one frame: background and noise, detection, the star profile learned from the
 * frame's bright stars, a maximum-likelihood fit of every star, flags.
 *
 * Pixels that are NaN or saturated are left out of fits and flagged. Where the gain is not known it is estimated from
 * the frame, said in `gainIs`. `sibling` is what a better sampled colour of the same frame has learned: it says what the
 * few sites of this one cannot; where it is settled, its profile is used as it is. A frame without stars yields an empty table; judging that is the caller's affair.
 */
export async function measurePlane(
  plane: SamplePlane,
  channel: string,
  noise: CameraNoise,
  run: StarTaskRunner,
  sibling: LearnedShape | null = null,
): Promise<PlaneMeasurement> {
  const found = await findCandidates(plane, noise, run);
  const { candidates } = found;
  const frame: FitFrame = {
    plane,
    background: found.background,
    noise: found.noise,
    field: makePlainField(plane, 3.2),
    gainElectronsPerAdu: noise.gainElectronsPerAdu ?? gainBeforeEstimate,
    saturationAdu: found.saturationAdu ?? Number.POSITIVE_INFINITY,
    stampWidths,
    backgroundFreedom,
  };
  const starts = makeStarts(candidates, found.fwhmPx);
  const teachers = chooseProfileStars(candidates, plane.widthPx, plane.heightPx, 5 * found.fwhmPx + 2);
  const teacherStarts = pickStarts(starts, teachers);
  const warnings = [...found.warnings];
  let gainIs: PlaneMeasurement["gainIs"] = "given";
  if (noise.gainElectronsPerAdu === null) {
    gainIs = "estimated";
    const learned = await learnProfileField(frame, teacherStarts, run);
    const gain = readGain(
      await run(gainTask, dealJobs({ ...frame, field: learned.field }, teacherStarts).jobs),
    );
    if (Number.isNaN(gain)) {
      warnings.push(
        "The camera's gain is not on record and too few stars tell it; 1 e-/ADU is assumed for the noise.",
      );
    } else {
      frame.gainElectronsPerAdu = gain;
    }
  }
  const learned =
    sibling?.isSettled === true
      ? { field: sibling.field, starsLearnedFrom: 0 }
      : await learnProfileField(frame, teacherStarts, run, sibling?.field);
  frame.field = learned.field;
  const fitted = await fitWorthwhile(frame, starts, candidates.flags, run);
  const ellipticity = chooseEllipticity(fitted, plane, found.fwhmPx, sibling);
  const table = assembleTable(
    fitted,
    candidates,
    (x, y) => sampleMesh(found.background, x, y),
    learned.field,
    ellipticity,
  );
  return {
    channel,
    stars: flagAfterFit(table, found.fwhmPx),
    found: candidates.xPx.length,
    background: found.background,
    noise: found.noise,
    learned: { field: learned.field, ellipticity },
    profile: describeProfile(learned.field, learned.starsLearnedFrom),
    gainElectronsPerAdu: frame.gainElectronsPerAdu,
    gainIs,
    warnings,
  };
}

/**
 * What the contours lack is the own stars' to tell where the sites stand close enough to see a contour, else the
 * sibling's: on every other pixel of stars 1.9 px wide the own residuals leave a third of the ellipticity out.
 */
function chooseEllipticity(
  fitted: Float64Array,
  plane: SamplePlane,
  fwhmPx: number,
  sibling: LearnedShape | null,
): EllipticityCorrection {
  const sites = plane.sites.filter((own) => own).length;
  const spacingPx = Math.sqrt(4 / sites);
  if (sibling !== null && fwhmPx < ownContourSpacings * spacingPx) return sibling.ellipticity;
  return fitEllipticityCorrection(fitted, plane);
}

function makeStarts(candidates: Candidates, fwhmPx: number): Float64Array {
  const q = 4 / (fwhmPx * fwhmPx);
  const starts = new Float64Array(candidates.xPx.length * PARAMETERS);
  for (let i = 0; i < candidates.xPx.length; i++) {
    const peak = Math.max(candidates.peakAdu[i], 1e-3);
    starts.set([candidates.xPx[i], candidates.yPx[i], peak, q, 0, q, 0], i * PARAMETERS);
  }
  return starts;
}

function pickStarts(starts: Float64Array, rows: readonly number[]): Float64Array {
  const picked = new Float64Array(rows.length * PARAMETERS);
  rows.forEach((row, i) => {
    picked.set(starts.subarray(row * PARAMETERS, (row + 1) * PARAMETERS), i * PARAMETERS);
  });
  return picked;
}

/** No star's shape can be had of these: fitting them would cost time and tell nothing. */
const notWorthFitting = STAR_FLAGS.spike | STAR_FLAGS.trail;

/** Fits all candidates that may be stars; the rows of the others stay zero, which counts as a fit that failed. */
async function fitWorthwhile(
  frame: FitFrame,
  starts: Float64Array,
  flags: Uint16Array,
  run: StarTaskRunner,
): Promise<Float64Array> {
  const rows = Array.from(flags.keys()).filter((row) => (flags[row] & notWorthFitting) === 0);
  const part = await fitWithNeighbours(frame, pickStarts(starts, rows), run);
  const fitted = new Float64Array(flags.length * FITTED.length);
  rows.forEach((row, i) => {
    fitted.set(part.subarray(i * FITTED.length, (i + 1) * FITTED.length), row * FITTED.length);
  });
  return fitted;
}

/** Fits every star, then those that others shine into again, with the others' light as last fitted taken off. */
async function fitWithNeighbours(
  frame: FitFrame,
  starts: Float64Array,
  run: StarTaskRunner,
): Promise<Float64Array> {
  const fitted = await fitStars(frame, starts, run);
  const sigmaAdu = medianOf(frame.noise.values);
  for (let round = 0; round < neighbourRounds; round++) {
    const neighbours = listNeighbours(fitted, frame.stampWidths, sigmaAdu);
    const rows = neighbours.flatMap((others, row) => (others.length > 0 ? [row] : []));
    if (rows.length === 0) break;
    const everyStar = takeStarts(
      fitted,
      Array.from({ length: neighbours.length }, (_, i) => i),
    );
    const again = await fitStars(frame, pickAgain(fitted, starts, rows), run, {
      stars: everyStar,
      of: rows.map((row) => neighbours[row]),
    });
    rows.forEach((row, i) => {
      fitted.set(again.subarray(i * FITTED.length, (i + 1) * FITTED.length), row * FITTED.length);
    });
  }
  return fitted;
}

/** Starts for a second fit: the first one's solution, or what detection gave where that did not settle. */
function pickAgain(fitted: Float64Array, starts: Float64Array, rows: readonly number[]): Float64Array {
  const again = takeStarts(fitted, rows);
  rows.forEach((row, i) => {
    if (fitted[row * FITTED.length + FITTED.converged] === 1) return;
    again.set(starts.subarray(row * PARAMETERS, (row + 1) * PARAMETERS), i * PARAMETERS);
  });
  return again;
}

function medianOf(values: Float32Array): number {
  return Float32Array.from(values).sort()[values.length >> 1];
}

function describeProfile(field: ProfileField, starsLearnedFrom: number): PlaneMeasurement["profile"] {
  const profile = makeProfileReader(field)(field.widthPx / 2, field.heightPx / 2);
  const radiusHwhm = Array.from({ length: 41 }, (_, i) => i / 4);
  return {
    radiusHwhm,
    relative: radiusHwhm.map((radius) => profile.light[radius * TABLE_STEPS]),
    moffatBeta: profile.moffatBeta,
    starsLearnedFrom,
  };
}
