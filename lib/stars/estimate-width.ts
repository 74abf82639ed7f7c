import type { Candidates } from "./candidates.ts";
import { FWHM_PER_SIGMA } from "./matched-filter.ts";
import { sampleMesh } from "./mesh-map.ts";
import type { MeshMap } from "./plane-measurement.ts";
import type { SamplePlane } from "./samples.ts";

/** Ladder of widths, px FWHM as sampled: from a single pixel to well past the widest star, a step of 1.15. */
const LADDER = Array.from({ length: 24 }, (_, i) => 0.9 * 1.15 ** i);
/** An object whose best width is below this is a single pixel: the narrowest star spans 1.2 px. */
const NARROWEST_PX = 1.1;

interface Answer {
  x: number;
  y: number;
  /** Matched-filter signal to noise, up to the noise of a pixel. */
  strength: number;
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
  let power = 0;
  for (let row = Math.max(0, Math.ceil(y - reach)); row <= Math.min(heightPx - 1, y + reach); row++) {
    const down = Math.exp(-0.5 * ((row - y) / sigma) ** 2);
    for (
      let column = Math.max(0, Math.ceil(x - reach));
      column <= Math.min(widthPx - 1, x + reach);
      column++
    ) {
      if (!sites[(column & 1) + 2 * (row & 1)]) continue;
      const value = samples[row * widthPx + column] - sky;
      if (value - value !== 0) continue;
      const weight = down * Math.exp(-0.5 * ((column - x) / sigma) ** 2);
      sum += weight * value;
      sumX += weight * value * (column - x);
      sumY += weight * value * (row - y);
      power += weight * weight;
    }
  }
  const strength = power > 0 ? sum / Math.sqrt(power) : 0;
  if (!(sum > 0)) return { x, y, strength };
  // The weight halves the step for a star of its own width (the factor 2 of windowed centroids).
  const limit = 0.5 * fwhm;
  const clamp = (step: number) => Math.min(limit, Math.max(-limit, step));
  return { x: x + clamp((2 * sumX) / sum), y: y + clamp((2 * sumY) / sum), strength };
}

/**
 * Width of one object: the FWHM of the Gaussian that answers it best, followed from the widest down so that a ring or a
 * disc counts as one; NaN where there is no best width inside the ladder. Also says how single-pixel it is.
 */
export function measureWidth(plane: SamplePlane, sky: number, x: number, y: number): number {
  const strengths = new Float64Array(LADDER.length);
  let at = { x, y };
  // The widest rung starts at 8 px: wider ones from the same centre only.
  for (let rung = LADDER.length - 1; rung >= 0; rung--) {
    const first = answerAt(plane, sky, at.x, at.y, LADDER[rung]);
    if (Math.hypot(first.x - x, first.y - y) < 6) at = first;
    strengths[rung] = answerAt(plane, sky, at.x, at.y, LADDER[rung]).strength;
  }
  let best = 0;
  for (let rung = 1; rung < LADDER.length; rung++) if (strengths[rung] > strengths[best]) best = rung;
  if (best === 0) return LADDER[0];
  if (best === LADDER.length - 1) return Number.NaN;
  const [a, b, c] = [strengths[best - 1], strengths[best], strengths[best + 1]];
  const shift = (a - c) / (2 * (a + c - 2 * b));
  return LADDER[best] * 1.15 ** shift;
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

/**
 * Typical FWHM (px, pixel's integral in it) of a plane's stars from its brighter candidates: mode of the logarithms of
 * their widths, single pixels and saturated objects left out, so that neither hot pixels nor galaxies nor blends decide
 * it. NaN with fewer than five usable candidates.
 */
export function estimateTypicalWidth(
  plane: SamplePlane,
  candidates: Candidates,
  background: MeshMap,
  saturationAdu: number | null,
): { fwhmPx: number; usedStars: number } {
  const widths: number[] = [];
  const most = 400;
  for (let i = 0; i < candidates.xPx.length && widths.length < most; i++) {
    const x = candidates.xPx[i];
    const y = candidates.yPx[i];
    const sky = sampleMesh(background, x, y);
    if (saturationAdu !== null && candidates.peakAdu[i] + sky >= saturationAdu) continue;
    if (x < 12 || y < 12 || x > plane.widthPx - 13 || y > plane.heightPx - 13) continue;
    const width = measureWidth(plane, sky, x, y);
    if (width > NARROWEST_PX) widths.push(Math.log(width));
  }
  if (widths.length < 5) return { fwhmPx: Number.NaN, usedStars: widths.length };
  return { fwhmPx: Math.exp(findMode(widths)), usedStars: widths.length };
}
