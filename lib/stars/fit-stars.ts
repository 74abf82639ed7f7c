import { sampleMesh } from "./background.ts";
import { measureContourResidual } from "./contour-residual.ts";
import { fitStar, type PixelNoise, type StarFit } from "./fit-star.ts";
import { addStarToEquations, makeProfileEquations, type ProfileEquations } from "./learn-profile.ts";
import type { MeshMap } from "./plane-measurement.ts";
import type { Profile } from "./profile.ts";
import { makeProfileReader, type ProfileField } from "./profile-field.ts";
import type { SamplePlane } from "./samples.ts";
import { gatherStamp, makeStamp, type Stamp } from "./stamp.ts";
import { chooseNodes, PARAMETERS, pickNodes, readPixelLight, type StarShape } from "./star-model.ts";
import type { StarTask } from "./star-task.ts";

/** What every star of a frame is fitted with. */
export interface FitFrame {
  plane: SamplePlane;
  background: MeshMap;
  noise: MeshMap;
  field: ProfileField;
  gainElectronsPerAdu: number;
  saturationAdu: number;
  /** Radius of the stamp in full widths at half maximum. */
  stampWidths: number;
  /** How far a star's own background may lie from the map's, in sigmas of a pixel. */
  backgroundFreedom: number;
}

/** Stars as packed rows of x, y, peak, qxx, qxy, qyy, background. */
export interface FitJob {
  frame: FitFrame;
  starts: Float64Array;
  /** Stars whose light is to be taken off first: packed rows like `starts`, and for each start the rows that reach it. */
  others: Float64Array;
  othersOf: readonly (readonly number[])[];
}

/** Columns of a fitted row after the star's seven. */
export const FITTED = {
  xErr: 7,
  yErr: 8,
  fwhmErr: 9,
  eErr: 10,
  fluxErr: 11,
  snr: 12,
  chi2: 13,
  pixels: 14,
  missing: 15,
  saturated: 16,
  converged: 17,
  flux: 18,
  contourE1: 19,
  contourE2: 20,
  contourWeight: 21,
  length: 22,
} as const;

export function readStar(rows: Float64Array, index: number, stride: number): StarShape {
  const at = index * stride;
  return {
    x: rows[at],
    y: rows[at + 1],
    peak: rows[at + 2],
    qxx: rows[at + 3],
    qxy: rows[at + 4],
    qyy: rows[at + 5],
    background: rows[at + 6],
  };
}

export function writeStar(rows: Float64Array, index: number, stride: number, star: StarShape): void {
  rows.set([star.x, star.y, star.peak, star.qxx, star.qxy, star.qyy, star.background], index * stride);
}

/** Fits every star of the job; the result is packed rows of FITTED.length. */
export const fitStarsTask: StarTask<FitJob, Float64Array> = {
  name: "fit-stars",
  run: (job) => {
    const count = job.starts.length / PARAMETERS;
    const rows = new Float64Array(count * FITTED.length);
    const fitter = makeFitter(job);
    for (let i = 0; i < count; i++) {
      const fitted = fitter(i);
      writeFit(rows, i, fitted.fit, fitted.stamp, fitted.profile);
      if (!fitted.fit.converged) continue;
      const contour = measureContourResidual(fitted.stamp, fitted.profile, fitted.noise, fitted.fit.star);
      rows[i * FITTED.length + FITTED.contourE1] = contour.e1;
      rows[i * FITTED.length + FITTED.contourE2] = contour.e2;
      rows[i * FITTED.length + FITTED.contourWeight] = contour.weight;
    }
    return rows;
  },
};

export interface LearnJob extends FitJob {
  /** Stars whose reduced chi-square is above this do not teach. */
  highestChi2: number;
}

export interface LearnResult {
  equations: ProfileEquations;
  /** Packed rows of FITTED.length. */
  fitted: Float64Array;
}

/** Fits the stars of the job and gathers what they say about the profile: see addStarToEquations. */
export const learnProfileTask: StarTask<LearnJob, LearnResult> = {
  name: "learn-profile",
  run: (job) => {
    const equations = makeProfileEquations(job.frame.field.terms);
    const count = job.starts.length / PARAMETERS;
    const fitted = new Float64Array(count * FITTED.length);
    const fitter = makeFitter(job);
    for (let i = 0; i < count; i++) {
      const { fit, stamp, profile, noise } = fitter(i);
      writeFit(fitted, i, fit, stamp, profile);
      const whole = stamp.missing < 0.1 * stamp.count;
      if (fit.converged && whole && fit.chi2 < job.highestChi2) {
        addStarToEquations(equations, job.frame.field, profile, stamp, noise, fit.star);
      }
    }
    return { equations, fitted };
  },
};

interface Fitted {
  fit: StarFit;
  stamp: Stamp;
  profile: Profile;
  noise: PixelNoise;
}

/** A star whose width comes out this much wider than its stamp was cut for is cut and fitted once more. */
const stampTooSmall = 1.25;

/** A second stamp is at most this much larger than the first, and no stamp is larger than a star of 27 px needs. */
const widestStar = 2.5;
const mostStampPx = 60;

/** Fits stars of the job one at a time; the stamp it yields is used again for the next star. */
export function makeFitter(job: FitJob): (index: number) => Fitted {
  const { frame } = job;
  const readProfile = makeProfileReader(frame.field);
  let stamp = makeStamp(16);
  const gather = (star: StarShape, level: number, widthPx: number, others: readonly number[]) => {
    const radius = Math.min(frame.stampWidths * widthPx + 1, mostStampPx);
    if ((2 * Math.ceil(radius) + 3) ** 2 > stamp.x.length) stamp = makeStamp(radius * 1.3);
    const x = Math.round(star.x);
    const y = Math.round(star.y);
    gatherStamp(stamp, frame.plane, x, y, radius, level, frame.saturationAdu);
    for (const other of others) {
      const neighbour = readStar(job.others, other, PARAMETERS);
      subtractStar(stamp, neighbour, readProfile(neighbour.x, neighbour.y));
    }
  };
  return (index) => {
    const start = readStar(job.starts, index, PARAMETERS);
    const level = sampleMesh(frame.background, start.x, start.y);
    const sigmaAdu = sampleMesh(frame.noise, start.x, start.y);
    const noise: PixelNoise = {
      sigmaAdu,
      gainElectronsPerAdu: frame.gainElectronsPerAdu,
      backgroundSigmaAdu: frame.backgroundFreedom * sigmaAdu,
    };
    const others = job.othersOf[index] ?? [];
    const profile = readProfile(start.x, start.y);
    let width = meanWidth(start);
    gather(start, level, width, others);
    let fit = fitStar(stamp, profile, noise, start);
    const grown = meanWidth(fit.star) / width;
    if (fit.converged && grown > stampTooSmall) {
      width *= Math.min(grown, widestStar);
      gather(fit.star, level, width, others);
      fit = fitStar(stamp, profile, noise, fit.star);
    }
    return { fit, stamp, profile, noise };
  };
}

function meanWidth(star: StarShape): number {
  return 2 * (star.qxx * star.qyy - star.qxy * star.qxy) ** -0.25;
}

function subtractStar(stamp: Stamp, star: StarShape, profile: Profile): void {
  const nodes = chooseNodes(star);
  for (let k = 0; k < stamp.count; k++) {
    const x = stamp.x[k];
    const y = stamp.y[k];
    stamp.value[k] -= star.peak * readPixelLight(star, profile, pickNodes(nodes, star, x, y), x, y);
  }
}

/** Uncertainties of what is reported, from the covariance of the parameters by first-order propagation. */
function writeFit(rows: Float64Array, index: number, fit: StarFit, stamp: Stamp, profile: Profile): void {
  const { star, covariance } = fit;
  writeStar(rows, index, FITTED.length, star);
  const at = index * FITTED.length;
  const determinant = star.qxx * star.qyy - star.qxy * star.qxy;
  const trace = star.qxx + star.qyy;
  const spread = (weights: readonly (readonly [number, number])[]) => {
    let variance = 0;
    for (const [i, a] of weights)
      for (const [j, b] of weights) variance += a * b * covariance[i * PARAMETERS + j];
    return Math.sqrt(variance);
  };
  const logDeterminant = [
    [3, star.qyy / determinant],
    [4, (-2 * star.qxy) / determinant],
    [5, star.qxx / determinant],
  ] as const;
  const e1 = spread([
    [3, (-2 * star.qyy) / trace ** 2],
    [5, (2 * star.qxx) / trace ** 2],
  ]);
  const e2 = spread([
    [3, (-2 * star.qxy) / trace ** 2],
    [4, 2 / trace],
    [5, (-2 * star.qxy) / trace ** 2],
  ]);
  const flux = (star.peak * profile.area) / Math.sqrt(determinant);
  rows[at + FITTED.xErr] = Math.sqrt(covariance[0]);
  rows[at + FITTED.yErr] = Math.sqrt(covariance[8]);
  rows[at + FITTED.fwhmErr] = spread(logDeterminant) / 4;
  rows[at + FITTED.eErr] = Math.sqrt((e1 * e1 + e2 * e2) / 2);
  rows[at + FITTED.fluxErr] =
    flux * spread([[2, 1 / star.peak], ...logDeterminant.map(([i, a]) => [i, -a / 2] as const)]);
  rows[at + FITTED.snr] = fit.snr;
  rows[at + FITTED.chi2] = fit.chi2;
  rows[at + FITTED.pixels] = stamp.count;
  rows[at + FITTED.missing] = stamp.missing;
  rows[at + FITTED.saturated] = stamp.saturated;
  rows[at + FITTED.converged] = fit.converged ? 1 : 0;
  rows[at + FITTED.flux] = flux;
}
