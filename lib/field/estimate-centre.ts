import { computeStudentQuantile } from "../maths/distributions.ts";
import { makeMeasured, makeUnknown, type Quantity, type Unit } from "../maths/quantity.ts";
import { estimateMadSigma, median } from "../maths/statistics.ts";
import { computeMedianInterval, FEWEST_FOR_INTERVAL } from "./median-interval.ts";

/**
 * A median over the stars of a zone, with what the stars' own scatter and the frames' differences each add to its
 * uncertainty. Kept apart, so that a ratio of two zones can cancel what a frame adds to both.
 */
export interface CentreEstimate {
  value: number;
  /** How far the 95 % interval from the stars' scatter alone reaches below and above. */
  starsDown: number;
  starsUp: number;
  stars: number;
  /** What each frame adds to this zone, about their mean; empty with one frame. */
  frameEffects: number[];
  /** Variance with which those effects are known, from the noise of the stars they rest on. */
  frameEffectNoise: number;
}

/**
 * Median of one value per star (averaged over the frames) and the two parts of its uncertainty.
 *
 * Stars: interpolated order statistics (see `computeMedianInterval`), free of any assumption about the scatter.
 * Frames: `perFrame[f][s]` is the value of star s in frame f (NaN where it has none). Each star seen in all frames is
 * compared with itself, so its own width cancels; the median of these differences over the zone's stars is what frame
 * f adds. Null with fewer than six stars.
 */
export function estimateCentre(
  values: ArrayLike<number>,
  perFrame: readonly ArrayLike<number>[],
): CentreEstimate | null {
  const sorted = Float64Array.from(values)
    .filter((value) => Number.isFinite(value))
    .sort();
  const interval = computeMedianInterval(sorted);
  if (interval === null) return null;
  return {
    value: interval.median,
    starsDown: interval.median - interval.lo,
    starsUp: interval.hi - interval.median,
    stars: interval.n,
    ...estimateFrameEffects(perFrame),
  };
}

function estimateFrameEffects(
  perFrame: readonly ArrayLike<number>[],
): Pick<CentreEstimate, "frameEffects" | "frameEffectNoise"> {
  const frames = perFrame.length;
  if (frames < 2) return { frameEffects: [], frameEffectNoise: 0 };
  const differences = perFrame.map((): number[] => []);
  for (let star = 0; star < perFrame[0].length; star++) {
    let sum = 0;
    for (const frame of perFrame) sum += frame[star];
    if (!Number.isFinite(sum)) continue;
    for (let f = 0; f < frames; f++) differences[f].push(perFrame[f][star] - sum / frames);
  }
  const shared = differences[0].length;
  // Too few stars in common (frames turned against each other): compare the frames' own medians instead.
  const paired = shared >= FEWEST_FOR_INTERVAL;
  const effects = paired ? differences.map((list) => median(list)) : perFrame.map((frame) => median(frame));
  const known = effects.filter((effect) => Number.isFinite(effect));
  if (known.length < 2) return { frameEffects: [], frameEffectNoise: 0 };
  const middle = known.reduce((sum, effect) => sum + effect, 0) / known.length;
  const residuals = paired ? differences.flatMap((list, f) => list.map((value) => value - effects[f])) : [];
  const noise = paired ? estimateMadSigma(residuals) ** 2 * (frames / (frames - 1)) : 0;
  return {
    frameEffects: known.map((effect) => effect - middle),
    // A median of n normal values has variance (pi/2) sigma^2 / n.
    frameEffectNoise: paired ? ((Math.PI / 2) * noise) / shared : 0,
  };
}

/** Lower and upper distance of the 95 % interval from its value. */
export interface Reach {
  down: number;
  up: number;
}

/**
 * Joins stars' and frames' parts in quadrature. The frames' mean has the variance of their effects over their number,
 * known on (frames - 1) degrees of freedom, and so reaches Student's t times its standard error: 12.7 with two frames,
 * 4.3 with three. The part that the stars' noise alone puts into the effects is taken off first, for the stars'
 * interval holds it already. (One t for the whole, at Satterthwaite's degrees of freedom, was tried and covers less:
 * down to 89 % where both parts are alike, against 91 to 97 % this way.)
 */
export function joinReach(estimate: Omit<CentreEstimate, "value">): Reach {
  const frames = estimate.frameEffects.length;
  if (frames < 2) return { down: estimate.starsDown, up: estimate.starsUp };
  const between = estimate.frameEffects.reduce((sum, effect) => sum + effect * effect, 0) / (frames - 1);
  const variance = Math.max(0, between - estimate.frameEffectNoise) / frames;
  const framesReach = computeStudentQuantile(0.975, frames - 1) * Math.sqrt(variance);
  return {
    down: Math.hypot(estimate.starsDown, framesReach),
    up: Math.hypot(estimate.starsUp, framesReach),
  };
}

/** The estimate as a quantity, scaled by `factor` into `unit`; `floor` bounds what cannot be negative. */
export function toQuantity(
  estimate: CentreEstimate | null,
  unit: Unit,
  why: string,
  factor = 1,
  floor = Number.NEGATIVE_INFINITY,
): Quantity {
  if (estimate === null) return makeUnknown(unit, why);
  const { down, up } = joinReach(estimate);
  return makeMeasured(
    estimate.value * factor,
    unit,
    Math.max(floor, (estimate.value - down) * factor),
    (estimate.value + up) * factor,
    estimate.stars,
  );
}
