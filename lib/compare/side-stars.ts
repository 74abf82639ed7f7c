import { computeHalfDiagonalMm } from "../field/geometry.ts";
import { type PlacedStars, placeCombined } from "../field/place-stars.ts";
import { estimateLearnedReach, findSiteSpacing } from "../field/profile-error.ts";
import { sortIntoZones } from "../field/zones.ts";
import { remember } from "../maths/remember.ts";
import { median } from "../maths/statistics.ts";
import type { TestResults, Zone } from "../report/results.ts";
import { combineFrames } from "../stars/combine-frames.ts";
import type { ComparisonSide } from "./comparison-side.ts";

/** One side's stars, combined over its frames, and what is known of the faults that all of them share. */
export interface SideStars {
  placed: PlacedStars;
  zones: Record<Zone, number[]>;
  scale: TestResults["scale"];
  halfDiagonalMm: number;
  /** One-sigma fault of all widths alike, as a share: what the learned star profile leaves open. */
  commonFault: number;
  /** The same of the ratio of a zone's width to the centre's. */
  contrastFault: number;
}

/**
 * One sigma by which a learned profile puts one frame's zones wrong against its centre, as a share: 0.3 % on 15 frames of
 * known truth at 2.2 px and above (their corners, some 130 stars each). Frames learn apart, so it falls with their root.
 */
const contrastFaultOfFrame = 0.003;

/**
 * Fewer site spacings than this to a star, and the pixels hide the profile's core: 0.8 % at 2 spacings, 5 % at 1.13 (green
 * sites of a colour-filter array). The power is chosen to go through these.
 */
const fineSpacings = 2.3;
const coarsePower = 4;

function growForSampling(spacings: number): number {
  return Math.max(1, (fineSpacings / spacings) ** coarsePower);
}

/** Null where the side has no measured stars. */
export function gatherStars(
  side: Pick<ComparisonSide, "results" | "geometry" | "tables" | "measurement">,
): SideStars | null {
  const { results, geometry, tables } = side;
  if (results === null || geometry === null || tables.length === 0) return null;
  const placed = placeCombined(remember("stars/combine-frames", combineFrames, tables), geometry);
  const { fwhmMajorPx, fwhmMinorPx } = placed.combined.stars;
  if (fwhmMajorPx.length === 0) return null;
  const widthPx = median(fwhmMajorPx.map((major, row) => Math.sqrt(major * fwhmMinorPx[row])));
  const frames = Math.max(1, placed.combined.frames.length);
  const spacingPx = findSiteSpacing(results.channel, side.measurement?.frames[0]?.channels.length ?? 1);
  const contrastFault = (contrastFaultOfFrame * growForSampling(widthPx / spacingPx)) / Math.sqrt(frames);
  return {
    placed,
    zones: sortIntoZones(placed),
    scale: results.scale,
    halfDiagonalMm: computeHalfDiagonalMm(geometry),
    commonFault: estimateLearnedReach(tables, spacingPx).widthShare / 1.96,
    contrastFault,
  };
}
