import type { Length, Quantity } from "../maths/quantity.ts";
import { makeMeasured, makeUnknown, scaleQuantity } from "../maths/quantity.ts";
import type { TestResults, Zone } from "../report/results.ts";
import { STAR_FLAGS } from "../stars/star-table.ts";
import { type CentreEstimate, joinReach, toQuantity } from "./estimate-centre.ts";
import { CORNERS, nameZone, ZONES } from "./geometry.ts";
import { FEWEST_FOR_INTERVAL } from "./median-interval.ts";
import type { PlacedStars } from "./place-stars.ts";
import { type LearnedReach, widenEllipticity, widenWidth } from "./profile-error.ts";
import { estimateMeasure, STAR_MEASURES } from "./star-measures.ts";

export type ZoneResults = NonNullable<TestResults["zones"]>;

/** um and arcsec of one pixel of the frame. */
export interface PixelScale {
  umPerPx: number;
  arcsecPerPx: number;
}

/** Rows of the combined stars by zone, "corner" being the four corners together. */
export function sortIntoZones(placed: PlacedStars): Record<Zone, number[]> {
  const rows = Object.fromEntries(ZONES.map((zone): [Zone, number[]] => [zone, []])) as Record<
    Zone,
    number[]
  >;
  const { rho, xMm, yMm } = placed.places;
  for (let row = 0; row < rho.length; row++) {
    const zone = nameZone(rho[row], xMm[row], yMm[row]);
    rows[zone].push(row);
    if ((CORNERS as readonly string[]).includes(zone)) rows.corner.push(row);
  }
  return rows;
}

/** Why a zone states no value: too few stars, or too few that have it. */
export function describeTooFew(stars: number): string {
  if (stars >= FEWEST_FOR_INTERVAL)
    return `Fewer than ${FEWEST_FOR_INTERVAL} stars of this zone have this value; a star table made elsewhere may lack its column.`;
  const counted = stars === 0 ? "No star" : stars === 1 ? "One star" : `${stars} stars`;
  return `${counted} in this zone could be measured; an interval needs ${FEWEST_FOR_INTERVAL}.`;
}

/** A width in three units from its estimate in px. */
function makeLength(
  estimate: CentreEstimate | null,
  scale: PixelScale,
  why: string,
  reach: LearnedReach,
): Length {
  const px = widenWidth(toQuantity(estimate, "px", why, 1, 0), reach);
  return {
    px,
    um: scaleQuantity(px, scale.umPerPx, "um"),
    arcsec: scaleQuantity(px, scale.arcsecPerPx, "arcsec"),
  };
}

/**
 * Direction of the long axes from the medians of e1 and e2, degrees 0..180; null where (e1, e2) = (0, 0) lies within
 * the joint 95 % region, that is where the directions cancel or the stars are round. The interval follows from the
 * component across the median direction and may run past 0 or 180.
 */
export function estimateAngle(e1: CentreEstimate | null, e2: CentreEstimate | null, why: string): Quantity {
  if (e1 === null || e2 === null) return makeUnknown("deg", why);
  const reach1 = (joinReach(e1).down + joinReach(e1).up) / 2;
  const reach2 = (joinReach(e2).down + joinReach(e2).up) / 2;
  // 5.991 / 3.841: the 95 % points of chi-square for two and for one degree of freedom.
  const cancels = (e1.value / reach1) ** 2 + (e2.value / reach2) ** 2 < 5.991 / 3.841;
  const size = Math.hypot(e1.value, e2.value);
  if (cancels || size === 0)
    return makeUnknown("deg", "The long axes have no common direction within the interval.");
  const across = Math.hypot(reach1 * (e2.value / size), reach2 * (e1.value / size));
  const angle = (Math.atan2(e2.value, e1.value) * 90) / Math.PI;
  const value = angle < 0 ? angle + 180 : angle;
  const reach = (Math.atan2(across, size) * 90) / Math.PI;
  return makeMeasured(value, "deg", value - reach, value + reach, e1.stars);
}

function measureZone(
  placed: PlacedStars,
  rows: readonly number[],
  scale: PixelScale,
  reach: LearnedReach,
): ZoneResults[Zone] {
  const { stars } = placed.combined;
  const estimate = (name: keyof typeof STAR_MEASURES) => estimateMeasure(placed, rows, STAR_MEASURES[name]);
  const unresolved = rows.filter((row) => (stars.flags[row] & STAR_FLAGS.unresolved) !== 0).length;
  const why = describeTooFew(rows.length);
  const isUnresolved = rows.length >= FEWEST_FOR_INTERVAL && unresolved * 2 > rows.length;
  const whyWidth = isUnresolved
    ? "Most stars of this zone are narrower than 1.2 px as sampled: the pixels do not resolve their width."
    : why;
  const width = (name: keyof typeof STAR_MEASURES) =>
    makeLength(isUnresolved ? null : estimate(name), scale, whyWidth, reach);
  return {
    stars: rows.length,
    fwhm: width("fwhm"),
    fwhmMajor: width("fwhmMajor"),
    fwhmMinor: width("fwhmMinor"),
    hfd: width("hfd"),
    sampledFwhm: widenWidth(toQuantity(estimate("sampledFwhm"), "px", why, 1, 0), reach),
    ellipticity: widenEllipticity(
      toQuantity(isUnresolved ? null : estimate("ellipticity"), "ratio", whyWidth, 1, 0),
      reach,
      0,
    ),
    radial: widenEllipticity(toQuantity(isUnresolved ? null : estimate("radial"), "ratio", whyWidth), reach),
    angle: estimateAngle(
      isUnresolved ? null : estimate("e1"),
      isUnresolved ? null : estimate("e2"),
      whyWidth,
    ),
  };
}

/**
 * Zone statistics: medians over the zone's usable stars, each star averaged over the frames first, with 95 % intervals
 * that carry the scatter from star to star and, with two frames or more, from frame to frame (see `estimateCentre`
 * and `joinReach`). The ellipticity is freed of the noise's share star by star (see `debiasSize`). A zone with fewer
 * than six stars, or whose stars the pixels do not resolve, says so instead of a number. Shapes also carry what the
 * learned profile may put on all of them alike, `reach` (see `estimateLearnedReach`).
 */
export function measureZones(placed: PlacedStars, scale: PixelScale, reach: LearnedReach): ZoneResults {
  const rows = sortIntoZones(placed);
  return Object.fromEntries(
    ZONES.map((zone) => [zone, measureZone(placed, rows[zone], scale, reach)]),
  ) as ZoneResults;
}
