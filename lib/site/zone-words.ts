import type { Zone } from "../report/results.ts";

/** Zones as tables name them, in the order in which they list them. */
export const ZONE_WORDS: Record<Zone, string> = {
  centre: "Centre",
  middle: "Middle",
  outer: "Outer",
  corner: "All corners",
  upperLeft: "Upper left corner",
  upperRight: "Upper right corner",
  lowerLeft: "Lower left corner",
  lowerRight: "Lower right corner",
};
