import type { Quantity } from "../maths/quantity.ts";
import { makeMeasured, makeUnknown } from "../maths/quantity.ts";
import type { Zone } from "../report/results.ts";
import { type CentreEstimate, joinReach } from "./estimate-centre.ts";
import type { PlacedStars } from "./place-stars.ts";
import { estimateMeasure, STAR_MEASURES } from "./star-measures.ts";
import { describeTooFew, sortIntoZones } from "./zones.ts";

/**
 * Ratio of two zones' medians with its interval. What a frame adds to both (the night's seeing) cancels: the frames'
 * effects are differenced in the logarithm before their scatter is taken.
 */
export function divideEstimates(above: CentreEstimate, below: CentreEstimate): Quantity {
  const ratio = above.value / below.value;
  const down = Math.hypot(above.starsDown / above.value, below.starsUp / below.value);
  const up = Math.hypot(above.starsUp / above.value, below.starsDown / below.value);
  const paired = above.frameEffects.length === below.frameEffects.length;
  const reach = joinReach({
    starsDown: down,
    starsUp: up,
    stars: Math.min(above.stars, below.stars),
    frameEffects: paired
      ? above.frameEffects.map(
          (effect, frame) => effect / above.value - below.frameEffects[frame] / below.value,
        )
      : [],
    frameEffectNoise: above.frameEffectNoise / above.value ** 2 + below.frameEffectNoise / below.value ** 2,
  });
  return makeMeasured(
    ratio,
    "ratio",
    ratio * Math.exp(-reach.down),
    ratio * Math.exp(reach.up),
    above.stars + below.stars,
  );
}

/** Ratios of widths (FWHM) between zones of one test, each free of what the night did to the whole frame. */
export interface WidthContrasts {
  /** Each zone over the centre. */
  overCentre: Record<Exclude<Zone, "centre">, Quantity>;
  /** Across the two diagonals: lower right over upper left, and lower left over upper right. */
  lowerRightOverUpperLeft: Quantity;
  lowerLeftOverUpperRight: Quantity;
}

export function measureWidthContrasts(placed: PlacedStars): WidthContrasts {
  const rows = sortIntoZones(placed);
  const estimates = new Map<Zone, CentreEstimate | null>();
  const estimate = (zone: Zone) => {
    if (!estimates.has(zone)) estimates.set(zone, estimateMeasure(placed, rows[zone], STAR_MEASURES.fwhm));
    return estimates.get(zone) ?? null;
  };
  const divide = (above: Zone, below: Zone): Quantity => {
    const [top, bottom] = [estimate(above), estimate(below)];
    const lacking = top === null ? above : below;
    if (top === null || bottom === null) return makeUnknown("ratio", describeTooFew(rows[lacking].length));
    return divideEstimates(top, bottom);
  };
  return {
    overCentre: {
      middle: divide("middle", "centre"),
      outer: divide("outer", "centre"),
      corner: divide("corner", "centre"),
      upperLeft: divide("upperLeft", "centre"),
      upperRight: divide("upperRight", "centre"),
      lowerLeft: divide("lowerLeft", "centre"),
      lowerRight: divide("lowerRight", "centre"),
    },
    lowerRightOverUpperLeft: divide("lowerRight", "upperLeft"),
    lowerLeftOverUpperRight: divide("lowerLeft", "upperRight"),
  };
}
