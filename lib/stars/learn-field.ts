import { FITTED, type FitFrame, learnProfileTask, readStar } from "./fit-stars.ts";
import { makeProfileEquations } from "./learn-profile.ts";
import { BASES, CHANGING_TERMS, type ProfileField } from "./profile-field.ts";
import { fitMap, readMap, type SmoothMap } from "./smooth-map.ts";
import { solveProfile } from "./solve-profile.ts";
import { dealJobs, fitStars, gatherRows, takeStarts } from "./split-jobs.ts";
import { PARAMETERS, type StarShape } from "./star-model.ts";
import type { StarTaskRunner } from "./star-task.ts";

/** Moffat exponents tried for the profile's beginning: from heavy wings to nearly a Gaussian, evenly in 1 / beta. */
const betasTried = [2.2, 2.6, 3.2, 4.2, 6, 12];

/** Stars the first exponent is chosen by; more would not change the choice. */
const starsForBeta = 40;

/** Fewest stars for a profile that changes over the frame; how much it does, the stars say themselves. */
const starsForChange = 12;

/** Radius of the teachers' stamps in FWHM: shorter, the wings go unlearned and widths come out 0.8 % high. */
const learnWidths = 5;

/** Rounds of fit and learning; the third changes widths by less than 0.05 %. */
const rounds = 3;

/** A star whose chi-square is this many times the median is no plain star, and does not teach. */
const oddStar = 4;

export interface LearnedField {
  field: ProfileField;
  starsLearnedFrom: number;
}

/**
 * Learns the frame's star profile from its bright stars: the Moffat exponent that fits best, then a smooth correction
 * in radius that may change over the frame as far as there are stars to tell. `starts` are packed rows of the chosen
 * stars. `sibling` is the profile of another colour of the frame, to begin from and to stay near. With fewer than three stars the profile stays the Moffat one with exponent 3.2 (typical of long exposures,
 * common practice, no source).
 */
export async function learnProfileField(
  frame: FitFrame,
  starts: Float64Array,
  run: StarTaskRunner,
  sibling: ProfileField | null = null,
): Promise<LearnedField> {
  const count = starts.length / PARAMETERS;
  if (count < 3) return { field: sibling ?? makePlainField(frame.plane, 3.2), starsLearnedFrom: 0 };
  const wide = { ...frame, stampWidths: learnWidths };
  let field =
    sibling ??
    makePlainField(frame.plane, await chooseBeta(wide, starts.subarray(0, starsForBeta * PARAMETERS), run));
  let present = starts;
  let highestChi2 = Number.POSITIVE_INFINITY;
  let learnedFrom = count;
  for (let round = 0; round < rounds; round++) {
    if (round === 1 && sibling === null) field = extendTerms(field, present);
    const { jobs, rowsOf } = dealJobs({ ...wide, field }, present);
    const parts = await run(
      learnProfileTask,
      jobs.map((job) => ({ ...job, highestChi2 })),
    );
    const total = makeProfileEquations(field.terms);
    for (const { equations } of parts) {
      for (let i = 0; i < total.normal.length; i++) total.normal[i] += equations.normal[i];
      for (let i = 0; i < total.gradient.length; i++) total.gradient[i] += equations.gradient[i];
    }
    field = solveProfile(field, total, sibling);
    const fitted = gatherRows(
      parts.map((part) => part.fitted),
      rowsOf,
    );
    const plain = listPlainStars(fitted);
    if (plain.rows.length < 3) break;
    present = takeStarts(fitted, plain.rows);
    learnedFrom = plain.rows.length;
    highestChi2 = plain.highestChi2;
  }
  return { field, starsLearnedFrom: learnedFrom };
}

/** A Moffat profile, the same all over the frame. */
export function makePlainField(plane: { widthPx: number; heightPx: number }, beta: number): ProfileField {
  return {
    beta,
    widthPx: plane.widthPx,
    heightPx: plane.heightPx,
    terms: 1,
    coefficients: new Float64Array(BASES),
    growth: null,
  };
}

function extendTerms(field: ProfileField, stars: Float64Array): ProfileField {
  if (stars.length < starsForChange * PARAMETERS) return field;
  const coefficients = new Float64Array(CHANGING_TERMS * BASES);
  coefficients.set(field.coefficients.subarray(0, BASES));
  return { ...field, terms: CHANGING_TERMS, coefficients, growth: mapGrowth(stars, field) };
}

/** How wide the stars (packed rows) are over the frame, zero at their median. */
function mapGrowth(stars: Float64Array, frame: { widthPx: number; heightPx: number }): SmoothMap {
  const count = stars.length / PARAMETERS;
  const column = (read: (star: StarShape) => number) =>
    Float64Array.from({ length: count }, (_, i) => read(readStar(stars, i, PARAMETERS)));
  const [xPx, yPx] = [column(({ x }) => x), column(({ y }) => y)];
  const map = fitMap(
    frame,
    xPx,
    yPx,
    column(({ qxx, qxy, qyy }) => -Math.log(qxx * qyy - qxy * qxy) / 4),
  );
  // The first coefficient is the constant.
  map.coefficients[0] -= xPx.map((x, i) => readMap(map, x, yPx[i])).sort()[count >> 1];
  return map;
}

async function chooseBeta(frame: FitFrame, starts: Float64Array, run: StarTaskRunner): Promise<number> {
  const scores: number[] = [];
  for (const beta of betasTried) {
    const fitted = await fitStars({ ...frame, field: makePlainField(frame.plane, beta) }, starts, run);
    let score = 0;
    for (let at = 0; at < fitted.length; at += FITTED.length) {
      score += fitted[at + FITTED.converged] === 1 ? Math.log(fitted[at + FITTED.chi2]) : 3;
    }
    scores.push(score);
  }
  return locateLeast(betasTried, scores);
}

/** The exponent of the least score: between the tried ones by a parabola in 1 / beta through the three lowest. */
function locateLeast(betas: readonly number[], scores: readonly number[]): number {
  const best = scores.indexOf(Math.min(...scores));
  if (best === 0 || best === betas.length - 1) return betas[best];
  const [x0, x1, x2] = [best - 1, best, best + 1].map((i) => 1 / betas[i]);
  const [y0, y1, y2] = [best - 1, best, best + 1].map((i) => scores[i]);
  const top = (x1 - x0) ** 2 * (y1 - y2) - (x1 - x2) ** 2 * (y1 - y0);
  const bottom = (x1 - x0) * (y1 - y2) - (x1 - x2) * (y1 - y0);
  return bottom === 0 ? betas[best] : 1 / (x1 - (0.5 * top) / bottom);
}

/** Stars that settled, are whole, and are described no worse than most; and the limit that was used. */
function listPlainStars(fitted: Float64Array): { rows: number[]; highestChi2: number } {
  const settled: number[] = [];
  for (let row = 0; row < fitted.length / FITTED.length; row++) {
    const at = row * FITTED.length;
    if (
      fitted[at + FITTED.converged] === 1 &&
      fitted[at + FITTED.missing] < 0.1 * fitted[at + FITTED.pixels]
    ) {
      settled.push(row);
    }
  }
  const chi2Of = (row: number) => fitted[row * FITTED.length + FITTED.chi2];
  const sorted = settled.map(chi2Of).sort((a, b) => a - b);
  const highestChi2 = oddStar * Math.max(sorted[sorted.length >> 1] ?? 1, 1);
  return { rows: settled.filter((row) => chi2Of(row) < highestChi2), highestChi2 };
}
