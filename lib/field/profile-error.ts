import type { Quantity } from "../maths/quantity.ts";
import { type StarTable, UNUSABLE } from "../stars/star-table.ts";

/** One sigma, as a share of the width, that a learned profile is wrong by however many stars taught it. */
const floorShare = 0.004;
/** One sigma for a profile that a single star taught; it falls with the root of their number. */
const shareOfOneStar = 0.045;
/** Stars that teach have this signal to noise or more, and are at most so many (see choose-profile-stars.ts). */
const teachers = { leastSnr: 50, most: 168 };

/**
 * 95 % reach, as a share of the width, of what the learned star profile puts on all widths of a frame alike, of which the
 * stars' own scatter tells nothing, however many they are. Measured on frames of known truth: 0.5 % rms with 140 to 170
 * stars to learn from (physical optics, 1.8 to 4 px), 0.9 % with 40 (Moffat stars of 3 px).
 */
export function estimateProfileReach(tables: readonly StarTable[]): number {
  let most = 1;
  for (const { snr, flags } of tables) {
    let count = 0;
    for (let i = 0; i < snr.length; i++)
      if (snr[i] >= teachers.leastSnr && (flags[i] & UNUSABLE) === 0) count++;
    most = Math.max(most, Math.min(count, teachers.most));
  }
  return 1.96 * Math.hypot(floorShare, shareOfOneStar / Math.sqrt(most));
}

/** The width with its interval widened by the profile's share, in quadrature. */
export function widenForProfile(width: Quantity, share: number): Quantity {
  if (width.value === null) return width;
  const { value, lo, hi } = width;
  return {
    ...width,
    lo: Math.max(0, value - Math.hypot(value - lo, share * value)),
    hi: value + Math.hypot(hi - value, share * value),
  };
}
