import type { CentreEstimate } from "../field/estimate-centre.ts";
import { FEWEST_FOR_INTERVAL } from "../field/median-interval.ts";
import { estimateMeasure, STAR_MEASURES } from "../field/star-measures.ts";
import { drawMedians, drawStudent } from "../maths/median-draws.ts";
import { makeNormalRandom, makeRandom } from "../maths/random.ts";
import { sortFinite } from "../maths/statistics.ts";
import type { SideStars } from "./side-stars.ts";

/** Draws of each number: ends of a 95 % interval then scatter by some 4 % of its length. */
export const DRAWS = 1000;

/** A number as the stars give it, and as it would come out of other stars and other frames of the same night. */
export interface Drawn {
  value: number;
  draws: Float64Array;
  stars: number;
}

/** The frames' scatter is not believed beyond a factor e: with two frames Student's law has no bounds. */
const largestFrameEffect = 1;

/**
 * One sigma by which the next frame of a night is wider or narrower, as a share, where a single frame does not tell: common
 * practice, no source; good nights show 2 %, poor ones 5 %. A zone over the centre needs none: a frame adds to both.
 */
export const ASSUMED_FRAME_SCATTER = 0.03;

/**
 * How far the frames' mean may lie off, in the logarithm of the width: one draw of Student's t on (frames - 1) degrees of
 * freedom times the standard error of the frames' effects, what the stars' noise puts into these taken off first. Two or
 * three frames are too few to be drawn with replacement: the bare bootstrap of three covers eight cases of ten.
 */
function makeFrameDraw(
  effects: readonly number[],
  noise: number,
  assumedScatter: number,
  normal: () => number,
): () => number {
  const frames = effects.length;
  if (frames < 2) return () => assumedScatter * normal();
  const between = effects.reduce((sum, effect) => sum + effect * effect, 0) / (frames - 1);
  const error = Math.sqrt(Math.max(0, between - noise) / frames);
  return () =>
    Math.max(-largestFrameEffect, Math.min(largestFrameEffect, error * drawStudent(normal, frames - 1)));
}

function listWidths({ placed }: SideStars, rows: readonly number[]): Float64Array {
  const { stars } = placed.combined;
  return sortFinite(Float64Array.from(rows, (row) => STAR_MEASURES.fwhm(stars, row)));
}

function estimate(stars: SideStars, rows: readonly number[]): CentreEstimate | null {
  return estimateMeasure(stars.placed, rows, STAR_MEASURES.fwhm);
}

/**
 * Median FWHM (px) of the stars in `rows`: stars drawn anew, frames drawn by their own scatter, and the fault that the
 * learned profile puts on all widths alike. Null with fewer than six stars.
 */
export function drawWidth(stars: SideStars, rows: readonly number[], seed: number): Drawn | null {
  const centre = estimate(stars, rows);
  if (centre === null) return null;
  const random = makeRandom(seed);
  const normal = makeNormalRandom(random);
  const medians = drawMedians(listWidths(stars, rows), DRAWS, random);
  const square = centre.value ** 2;
  const drawFrames = makeFrameDraw(
    centre.frameEffects.map((effect) => effect / centre.value),
    centre.frameEffectNoise / square,
    ASSUMED_FRAME_SCATTER,
    normal,
  );
  return {
    value: centre.value,
    draws: medians.map((width) => width * Math.exp(drawFrames() + stars.commonFault * normal())),
    stars: centre.stars,
  };
}

/**
 * Ratio of the median widths of `rows` to those of `below`. What a frame adds to both, and the common fault of the
 * profile, cancel. Null where either has fewer than six stars.
 */
export function drawContrast(
  stars: SideStars,
  rows: readonly number[],
  below: readonly number[],
  seed: number,
): Drawn | null {
  const [top, bottom] = [estimate(stars, rows), estimate(stars, below)];
  if (top === null || bottom === null || rows.length < FEWEST_FOR_INTERVAL) return null;
  const random = makeRandom(seed);
  const normal = makeNormalRandom(random);
  const tops = drawMedians(listWidths(stars, rows), DRAWS, random);
  const bottoms = drawMedians(listWidths(stars, below), DRAWS, random);
  const paired = top.frameEffects.length === bottom.frameEffects.length;
  const drawFrames = makeFrameDraw(
    paired
      ? top.frameEffects.map((effect, f) => effect / top.value - bottom.frameEffects[f] / bottom.value)
      : [],
    top.frameEffectNoise / top.value ** 2 + bottom.frameEffectNoise / bottom.value ** 2,
    0,
    normal,
  );
  return {
    value: top.value / bottom.value,
    draws: tops.map(
      (width, k) => (width / bottoms[k]) * Math.exp(drawFrames() + stars.contrastFault * normal()),
    ),
    stars: top.stars,
  };
}
