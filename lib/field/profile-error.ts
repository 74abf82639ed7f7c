import type { Quantity } from "../maths/quantity.ts";
import { median } from "../maths/statistics.ts";
import { type StarTable, UNUSABLE } from "../stars/star-table.ts";

/** One sigma, as a share of the width, that a learned profile is wrong by however many stars taught it. */
const floorShare = 0.004;
/** One sigma for a profile that a single star taught; it falls with the root of their number. */
const shareOfOneStar = 0.045;
/** Stars that teach have this signal to noise or more, and are at most so many (see choose-profile-stars.ts). */
const teachers = { leastSnr: 50, most: 168 };
/**
 * Stars this many site spacings wide or more are sampled well. Below, one sigma of the width grows with the third power
 * of what is lacking and one of the ellipticity with the second. Measured on drawn frames: widths 3.4 % rms and 7 % too
 * round at 1.1 spacings, 1 % and 6 % at 1.4, 0.4 % and 2 % at 2, on sites of a colour-filter array and on whole frames.
 */
const wellSampled = { spacings: 1.4, widthShare: 0.012, ellipticityShare: 0.07 };
/** One sigma of e1 and e2 that zones of well sampled frames were off by beyond their scatter: 0.0005 to 0.001. */
const ellipticityFloor = 0.001;

/** 95 % reach of what the frame's learned shape puts on all its stars alike. */
export interface LearnedReach {
  /** As a share of any width. */
  widthShare: number;
  /** As a share of any ellipticity, beside `ellipticityFloor`. */
  ellipticityShare: number;
  ellipticityFloor: number;
}

/** Nothing is to be added. */
export const NO_LEARNED_REACH: LearnedReach = { widthShare: 0, ellipticityShare: 0, ellipticityFloor: 0 };

/** Mean distance of a channel's sites, px: the green of a colour-filter array has every other, red and blue every fourth. */
export function findSiteSpacing(channel: string, channels: number): number {
  if (channels < 2) return 1;
  return channel === "G" ? Math.SQRT2 : 2;
}

/**
 * 95 % reach of what the learned star profile puts on all shapes of a frame alike, of which the stars' own scatter tells
 * nothing, however many they are. Measured on frames of known truth: widths 0.5 % rms with 140 to 170 stars to learn
 * from (physical optics, 1.8 to 4 px), 0.9 % with 40 (Moffat stars of 3 px); see also `wellSampled`.
 */
export function estimateLearnedReach(tables: readonly StarTable[], siteSpacingPx: number): LearnedReach {
  let most = 1;
  const widths: number[] = [];
  for (const { snr, flags, fwhmMajorPx, fwhmMinorPx } of tables) {
    let count = 0;
    for (let i = 0; i < snr.length; i++) {
      if ((flags[i] & UNUSABLE) !== 0) continue;
      if (snr[i] >= teachers.leastSnr) count++;
      const fwhmPx = Math.sqrt(fwhmMajorPx[i] * fwhmMinorPx[i]);
      if (Number.isFinite(fwhmPx)) widths.push(fwhmPx);
    }
    most = Math.max(most, Math.min(count, teachers.most));
  }
  const lack = widths.length === 0 ? 0 : (wellSampled.spacings * siteSpacingPx) / median(widths);
  const width = Math.hypot(floorShare, shareOfOneStar / Math.sqrt(most), wellSampled.widthShare * lack ** 3);
  return {
    widthShare: 1.96 * width,
    ellipticityShare: 1.96 * wellSampled.ellipticityShare * lack ** 2,
    ellipticityFloor: 1.96 * ellipticityFloor,
  };
}

/** The quantity with its interval reaching `more` further, in quadrature, but not below `floor`. */
function widen(quantity: Quantity, more: number, floor: number): Quantity {
  if (quantity.value === null) return quantity;
  const { value, lo, hi } = quantity;
  return {
    ...quantity,
    lo: Math.max(floor, value - Math.hypot(value - lo, more)),
    hi: value + Math.hypot(hi - value, more),
  };
}

/** The width with its interval widened by the profile's share, in quadrature. */
export function widenWidth(width: Quantity, reach: LearnedReach): Quantity {
  return widen(width, reach.widthShare * (width.value ?? 0), 0);
}

/** An ellipticity (`floor` 0) or a component of one (no floor), its interval widened in quadrature. */
export function widenEllipticity(
  ellipticity: Quantity,
  reach: LearnedReach,
  floor = Number.NEGATIVE_INFINITY,
): Quantity {
  const more = Math.hypot(reach.ellipticityFloor, reach.ellipticityShare * (ellipticity.value ?? 0));
  return widen(ellipticity, more, floor);
}
