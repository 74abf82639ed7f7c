import { remember } from "../maths/remember.ts";
import type { TestResults } from "../report/results.ts";
import { type CombinedStars, combineFrames } from "../stars/combine-frames.ts";
import type { StarTable } from "../stars/star-table.ts";
import { measureWidthContrasts, type WidthContrasts } from "./contrasts.ts";
import type { SensorGeometry } from "./geometry.ts";
import { type PlacedStars, placeCombined } from "./place-stars.ts";
import { estimateLearnedReach } from "./profile-error.ts";
import { measureRadialProfile } from "./radial-profile.ts";
import { listStarField } from "./star-field.ts";
import { measureZones, type PixelScale, type ZoneResults } from "./zones.ts";

/** What the stars of one channel say about the field. */
export interface FieldMeasures {
  combined: CombinedStars;
  placed: PlacedStars;
  zones: ZoneResults;
  radialProfile: NonNullable<TestResults["radialProfile"]>;
  starField: NonNullable<TestResults["starField"]>;
  contrasts: WidthContrasts;
}

/**
 * From one star table a frame (all of one pointing and one channel) to the field's measures. Frames that show another
 * field take no part and are named in `combined.unmatched`. `siteSpacingPx` is the mean distance of the channel's sites.
 */
export function measureField(
  tables: readonly StarTable[],
  geometry: SensorGeometry,
  scale: PixelScale,
  siteSpacingPx = 1,
): FieldMeasures {
  return remember("field/measure-field", measureAnew, tables, geometry, scale, siteSpacingPx);
}

function measureAnew(
  tables: readonly StarTable[],
  geometry: SensorGeometry,
  scale: PixelScale,
  siteSpacingPx: number,
): FieldMeasures {
  const combined = combineFrames(tables);
  const placed = placeCombined(combined, geometry);
  return {
    combined,
    placed,
    zones: measureZones(placed, scale, estimateLearnedReach(tables, siteSpacingPx)),
    radialProfile: measureRadialProfile(placed),
    starField: listStarField(placed),
    contrasts: measureWidthContrasts(placed),
  };
}
