import { computeNormalTail } from "../maths/distributions.ts";
import type { Candidates } from "./candidates.ts";
import { makeCellIndex } from "./cell-index.ts";
import { cutLightStamp, type LightStamp, leaveToNeighbour } from "./light-stamp.ts";
import { sampleMesh } from "./mesh-map.ts";
import { findLightSigma } from "./pixel-light.ts";
import type { MeshMap } from "./plane-measurement.ts";
import type { SamplePlane } from "./samples.ts";
import { breachesBound, listSharpnessBounds, listSiteSteps } from "./sharp-pixel.ts";
import { STAR_FLAGS } from "./star-table.ts";

/** Stars narrower than so many steps between sites look like spikes: then none is flagged. */
const LEAST_SAMPLED = 1.35;
/** Stars may be this much narrower than the sharpest measured: those are a sample. Common practice, no source. */
const MARGIN = 0.95;
/**
 * By how much the row of pixels must be the likelier reading, in units of chi-square. Chosen on drawn frames: no star
 * of S/N 10 and more in 1,200 is lost at FWHM 1.3 px, and nothing is gained by asking for more at larger widths.
 */
const LEAST_ADVANTAGE = 3;
/** A pixel that lengthens a row must be lit by so many sigma, and a longer row counts so much less in chi-square a pixel. */
const LIT_SIGMAS = 2;
const EXTRA_PIXEL = 3;
/** Pixels on either side of the brightest that a row may have. */
const LONGEST_ROW = 4;
/** Trial centres of the star about the found one along each axis, in units of a fifth of its width or half a pixel. */
const TRIALS = [-1, -0.5, 0, 0.5, 1];

/** Shares of a Gaussian's light along the side of a stamp, for every trial centre, one after the other. */
function listShares(
  from: number,
  side: number,
  centre: number,
  sigma: number,
  trials: readonly number[],
): Float64Array {
  const shares = new Float64Array(trials.length * side);
  for (let trial = 0; trial < trials.length; trial++) {
    const offset = from - 0.5 - centre - trials[trial];
    let before = computeNormalTail(offset / sigma);
    for (let i = 0; i < side; i++) {
      const after = computeNormalTail((offset + i + 1) / sigma);
      shares[trial * side + i] = before - after;
      before = after;
    }
  }
  return shares;
}

/** Largest share of the stamp's light squared that a Gaussian star of width sigma can explain, over trial centres. */
function explainAsStar(
  stamp: LightStamp,
  x: number,
  y: number,
  sigma: number,
  trials: readonly number[],
): number {
  const { radius, light } = stamp;
  const side = 2 * radius + 1;
  const across = listShares(stamp.x - radius, side, x, sigma, trials);
  const down = listShares(stamp.y - radius, side, y, sigma, trials);
  let best = 0;
  for (let ty = 0; ty < down.length; ty += side) {
    for (let tx = 0; tx < across.length; tx += side) {
      let sum = 0;
      let power = 0;
      for (let j = 0, k = 0; j < side; j++) {
        const shareY = down[ty + j];
        for (let i = 0; i < side; i++, k++) {
          const value = light[k];
          if (Number.isNaN(value)) continue;
          const share = across[tx + i] * shareY;
          sum += share * value;
          power += share * share;
        }
      }
      if (sum > 0 && power > 0) best = Math.max(best, (sum * sum) / power);
    }
  }
  return best;
}

/** Brightest pixel of the stamp's inner part; -1 if none is lit. */
function findBrightest(stamp: LightStamp, reach: number): number {
  const side = 2 * stamp.radius + 1;
  let at = -1;
  for (let dy = -reach; dy <= reach; dy++) {
    for (let dx = -reach; dx <= reach; dx++) {
      const k = (dy + stamp.radius) * side + dx + stamp.radius;
      if (stamp.light[k] > (at < 0 ? 0 : stamp.light[at])) at = k;
    }
  }
  return at;
}

/**
 * Light squared of the straight row of lit pixels through pixel `at` that explains most, less what its freedom of length
 * is worth.
 */
function explainAsRow(
  stamp: LightStamp,
  at: number,
  steps: readonly (readonly [number, number])[],
  sigmaAdu: number,
) {
  const { light, radius } = stamp;
  const side = 2 * radius + 1;
  const column = at % side;
  const row = (at - column) / side;
  let best = light[at] ** 2;
  for (const [dx, dy] of steps) {
    let sum = light[at] ** 2;
    for (const sense of [1, -1]) {
      for (let n = 1; n <= LONGEST_ROW; n++) {
        const x = column + sense * n * dx;
        const y = row + sense * n * dy;
        if (x < 0 || y < 0 || x >= side || y >= side) break;
        const value = light[y * side + x];
        if (!(value > LIT_SIGMAS * sigmaAdu)) break;
        sum += value ** 2 - EXTRA_PIXEL * sigmaAdu ** 2;
      }
    }
    best = Math.max(best, sum);
  }
  return best;
}

/** Whether one pixel or a row of pixels explains the stamp better than a star of the frame's width, in even noise. */
function isRowOfPixels(
  stamp: LightStamp,
  x: number,
  y: number,
  fwhmPx: number,
  sharpestPx: number,
  sigmaAdu: number,
  steps: readonly (readonly [number, number])[],
): boolean {
  const at = findBrightest(stamp, Math.min(stamp.radius, Math.max(2, Math.round(fwhmPx / 2))));
  if (at < 0) return false;
  const spike = explainAsRow(stamp, at, steps, sigmaAdu);
  const enough = spike - LEAST_ADVANTAGE * sigmaAdu * sigmaAdu;
  const typical = findLightSigma(fwhmPx);
  // Nearly every star is one at its found place already.
  if (explainAsStar(stamp, x, y, typical, [0]) >= enough) return false;
  const trials = TRIALS.map((trial) => trial * Math.max(0.5, fwhmPx / 5));
  if (explainAsStar(stamp, x, y, typical, trials) >= enough) return false;
  return explainAsStar(stamp, x, y, findLightSigma(sharpestPx), trials) < enough;
}

/** Pixels near (x, y) worth testing for sharpness: the brightest and those at least half as bright about it. */
function listBrightPixels(stamp: LightStamp, fwhmPx: number): { x: number; y: number }[] {
  const side = 2 * stamp.radius + 1;
  const reach = Math.max(2, Math.round(0.7 * fwhmPx));
  let peak = 0;
  const near: { x: number; y: number; light: number }[] = [];
  for (let dy = -reach; dy <= reach; dy++) {
    for (let dx = -reach; dx <= reach; dx++) {
      if (Math.abs(dx) > stamp.radius || Math.abs(dy) > stamp.radius) continue;
      const light = stamp.light[(dy + stamp.radius) * side + dx + stamp.radius];
      if (!(light > 0)) continue;
      near.push({ x: stamp.x + dx, y: stamp.y + dy, light });
      peak = Math.max(peak, light);
    }
  }
  return near.filter(({ light }) => light >= 0.5 * peak);
}

/**
 * Sets STAR_FLAGS.spike on candidates that are sharper than optics and air can make a star: hot pixels, with or without
 * warm neighbours, and cosmic rays. Two tests against the frame's own stars, their typical width `fwhmPx` and the width
 * `sharpestPx` across where they are at their sharpest (both as sampled, px):
 *
 * - likelihood: a single pixel or a straight row of pixels explains the stamp better than a Gaussian star, pixel-integrated, at any place;
 * - sharpness: a bright pixel, or pair of pixels, exceeds what its opposite neighbours allow for the sharpest star,
 *   in any of the directions the plane's sites have. For tracks of several pixels.
 *
 * Saturated candidates are left alone: their tops are flat. Missing samples are left out. Valid for stars of 1.35
 * steps between sites and wider (2.7 px for red and blue); below, spikes and stars look alike and nothing is flagged.
 */
export function classifySpikes(
  plane: SamplePlane,
  candidates: Candidates,
  background: MeshMap,
  noise: MeshMap,
  fwhmPx: number,
  sharpestPx: number,
): void {
  if (fwhmPx < LEAST_SAMPLED * Math.min(...listSiteSteps(plane.sites).map(([dx, dy]) => Math.hypot(dx, dy))))
    return;
  const narrowestPx = MARGIN * sharpestPx;
  const wholeGrid = plane.sites.every(Boolean);
  const radius = Math.max(wholeGrid ? 2 : 4, Math.ceil(0.85 * fwhmPx));
  const bounds = listSharpnessBounds(plane.sites, narrowestPx);
  const steps = listSiteSteps(plane.sites);
  const index = makeCellIndex(candidates.xPx, candidates.yPx, 32);
  for (let i = 0; i < candidates.xPx.length; i++) {
    if ((candidates.flags[i] & STAR_FLAGS.saturated) !== 0) continue;
    const x = candidates.xPx[i];
    const y = candidates.yPx[i];
    const sky = sampleMesh(background, x, y);
    const sigma = sampleMesh(noise, x, y);
    const stamp = cutLightStamp(plane, Math.round(x), Math.round(y), radius, sky);
    index.visit(x, y, 3 * radius, (other) => {
      if (other !== i) leaveToNeighbour(stamp, x, y, candidates.xPx[other], candidates.yPx[other]);
    });
    const spike =
      isRowOfPixels(stamp, x, y, fwhmPx, narrowestPx, sigma, steps) ||
      listBrightPixels(stamp, fwhmPx).some((pixel) =>
        breachesBound(plane, pixel.x, pixel.y, bounds, sky, sigma),
      );
    if (spike) candidates.flags[i] |= STAR_FLAGS.spike;
  }
}
