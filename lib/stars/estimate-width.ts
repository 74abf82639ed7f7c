import type { Candidates } from "./candidates.ts";
import { FWHM_PER_SIGMA } from "./matched-filter.ts";
import { sampleMesh } from "./mesh-map.ts";
import type { MeshMap } from "./plane-measurement.ts";
import type { SamplePlane } from "./samples.ts";

/** Ladder of widths, px FWHM as sampled: from a single pixel to well past the widest star. */
const STEP = 1.2;
const LADDER = Array.from({ length: 18 }, (_, i) => 0.9 * STEP ** i);
/** An object whose best width is below this is a single pixel: the narrowest star spans 1.2 px. */
const NARROWEST_PX = 1.1;

/** Weights along a row, kept between calls: 2 x 1.4 FWHM of the widest rung at most. */
const acrossWeights = new Float64Array(64);

interface Answer {
  x: number;
  y: number;
  /** Matched-filter signal to noise, up to the noise of a pixel. */
  strength: number;
  /** Second moments under the Gaussian weight, px2. */
  xx: number;
  xy: number;
  yy: number;
}

/**
 * One step of a Gaussian-weighted centroid, and the answer of the filter of that width there. Missing samples and other
 * colours' sites are left out of the sums.
 */
function answerAt(plane: SamplePlane, sky: number, x: number, y: number, fwhm: number): Answer {
  const { samples, widthPx, heightPx, sites } = plane;
  const sigma = fwhm / FWHM_PER_SIGMA;
  const reach = Math.max(2, 1.4 * fwhm);
  let sum = 0;
  let sumX = 0;
  let sumY = 0;
  let sumXX = 0;
  let sumXY = 0;
  let sumYY = 0;
  let power = 0;
  const left = Math.max(0, Math.ceil(x - reach));
  const right = Math.min(widthPx - 1, Math.floor(x + reach));
  for (let column = left; column <= right; column++) {
    acrossWeights[column - left] = Math.exp(-0.5 * ((column - x) / sigma) ** 2);
  }
  for (let row = Math.max(0, Math.ceil(y - reach)); row <= Math.min(heightPx - 1, y + reach); row++) {
    const down = Math.exp(-0.5 * ((row - y) / sigma) ** 2);
    for (let column = left; column <= right; column++) {
      if (!sites[(column & 1) + 2 * (row & 1)]) continue;
      const value = samples[row * widthPx + column] - sky;
      if (value - value !== 0) continue;
      const weight = down * acrossWeights[column - left];
      sum += weight * value;
      const light = weight * value;
      sumX += light * (column - x);
      sumY += light * (row - y);
      sumXX += light * (column - x) ** 2;
      sumXY += light * (column - x) * (row - y);
      sumYY += light * (row - y) ** 2;
      power += weight * weight;
    }
  }
  const strength = power > 0 ? sum / Math.sqrt(power) : 0;
  const moments = { xx: sumXX / sum, xy: sumXY / sum, yy: sumYY / sum };
  if (!(sum > 0)) return { x, y, strength, ...moments };
  // The weight halves the step for a star of its own width (the factor 2 of windowed centroids).
  const limit = 0.5 * fwhm;
  const clamp = (step: number) => Math.min(limit, Math.max(-limit, step));
  return { x: x + clamp((2 * sumX) / sum), y: y + clamp((2 * sumY) / sum), strength, ...moments };
}

/** Width of one object: of the Gaussian that answers it best, and of its narrower axis, px FWHM as sampled. */
interface ObjectWidth {
  fwhmPx: number;
  minorPx: number;
}

/**
 * Narrower over mean width, from moments under a Gaussian weight of the object's own width: a weight of variance w2 leaves
 * 1 / (1 / s2 + 1 / w2) of a variance s2, which is undone.
 */
function findMinorShare({ xx, xy, yy }: Answer, fwhm: number): number {
  const w2 = (fwhm / FWHM_PER_SIGMA) ** 2;
  const mean = (xx + yy) / 2;
  const spread = Math.hypot((xx - yy) / 2, xy);
  const undo = (value: number) => 1 / (1 / value - 1 / w2);
  const major = undo(mean + spread);
  const minor = undo(mean - spread);
  // A heavy-winged or blended object can be wider under the weight than the weight: then nothing is known.
  return mean + spread < w2 && minor > 0 ? (minor / major) ** 0.25 : Number.NaN;
}

/**
 * Width of one object, followed from the widest Gaussian down so that a ring or a disc counts as one; NaN where there is
 * no best width inside the ladder.
 */
export function measureWidth(plane: SamplePlane, sky: number, x: number, y: number): ObjectWidth {
  const answers: Answer[] = [];
  let at = { x, y };
  for (let rung = LADDER.length - 1; rung >= 0; rung--) {
    const first = answerAt(plane, sky, at.x, at.y, LADDER[rung]);
    if (Math.hypot(first.x - x, first.y - y) < 6) at = first;
    answers[rung] = answerAt(plane, sky, at.x, at.y, LADDER[rung]);
  }
  let best = 0;
  for (let rung = 1; rung < LADDER.length; rung++)
    if (answers[rung].strength > answers[best].strength) best = rung;
  if (best === 0) return { fwhmPx: LADDER[0], minorPx: LADDER[0] };
  if (best === LADDER.length - 1) return { fwhmPx: Number.NaN, minorPx: Number.NaN };
  const [a, b, c] = [answers[best - 1].strength, answers[best].strength, answers[best + 1].strength];
  const fwhmPx = LADDER[best] * STEP ** ((a - c) / (2 * (a + c - 2 * b)));
  return { fwhmPx, minorPx: fwhmPx * findMinorShare(answers[best], LADDER[best]) };
}

/** Mode by repeated halving: the half of the sorted values that is narrowest, again and again (half-sample mode). */
export function findMode(values: readonly number[]): number {
  let sorted = values.toSorted((a, b) => a - b);
  while (sorted.length > 3) {
    const size = Math.ceil(sorted.length / 2);
    let start = 0;
    let narrowest = Number.POSITIVE_INFINITY;
    for (let i = 0; i + size <= sorted.length; i++) {
      const span = sorted[i + size - 1] - sorted[i];
      if (span < narrowest) {
        narrowest = span;
        start = i;
      }
    }
    sorted = sorted.slice(start, start + size);
  }
  return sorted.reduce((sum, value) => sum + value, 0) / sorted.length;
}

export interface TypicalWidth {
  /** Typical FWHM of the stars, px, pixel's integral in it; NaN with fewer than five usable objects. */
  fwhmPx: number;
  /** FWHM along the narrower axis where the field is at its sharpest. */
  sharpestPx: number;
  usedStars: number;
}

/** Objects looked at. */
const MOST_OBJECTS = 150;
/** The sharpest twelfth of the field's stars says how sharp it gets. */
const SHARPEST_SHARE = 1 / 12;
/** Tracks of cosmic rays are narrower than this across; stars so sharp are looked at by their typical width alone. */
const NARROWEST_MINOR_PX = 1.4;
/** A star's narrower axis where nothing else is known, over the typical width. */
const USUAL_SHARPEST = 0.9;

/**
 * Typical width of a plane's stars from its brighter candidates: mode of the logarithms of their widths, single pixels
 * and saturated objects left out, so that neither hot pixels nor galaxies nor blends decide it.
 */
export function estimateTypicalWidth(
  plane: SamplePlane,
  candidates: Candidates,
  background: MeshMap,
  saturationAdu: number | null,
): TypicalWidth {
  const widths: ObjectWidth[] = [];
  for (let i = 0; i < candidates.xPx.length && widths.length < MOST_OBJECTS; i++) {
    const x = candidates.xPx[i];
    const y = candidates.yPx[i];
    const sky = sampleMesh(background, x, y);
    if (saturationAdu !== null && candidates.peakAdu[i] + sky >= saturationAdu) continue;
    if (x < 12 || y < 12 || x > plane.widthPx - 13 || y > plane.heightPx - 13) continue;
    const width = measureWidth(plane, sky, x, y);
    if (width.fwhmPx > NARROWEST_PX) widths.push(width);
  }
  const usedStars = widths.length;
  if (usedStars < 5) return { fwhmPx: Number.NaN, sharpestPx: Number.NaN, usedStars };
  const fwhmPx = Math.exp(findMode(widths.map((width) => Math.log(width.fwhmPx))));
  const minors = widths
    .map(({ minorPx }) => minorPx)
    .filter((minor) => minor > Math.max(NARROWEST_MINOR_PX, 0.5 * fwhmPx))
    .sort((a, b) => a - b);
  const sharpest =
    minors.length >= 12 ? minors[Math.floor(SHARPEST_SHARE * minors.length)] : Number.POSITIVE_INFINITY;
  return { fwhmPx, sharpestPx: Math.min(USUAL_SHARPEST * fwhmPx, sharpest), usedStars };
}
