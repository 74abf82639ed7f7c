import type { Comparison } from "../report/results.ts";
import { drawCompareCurves } from "./draw-compare-curves.ts";
import { drawCompareCutouts, type FindSideSheet } from "./draw-compare-cutouts.ts";
import { drawCompareStrip } from "./draw-compare-strip.ts";
import type { Figure } from "./figure.ts";

/** All figures of a comparison's page, in page order; those that nothing is known for are left out. */
export function listComparisonFigures(comparison: Comparison, findSheet: FindSideSheet): Figure[] {
  return [
    drawCompareStrip(comparison),
    drawCompareCutouts(comparison, findSheet),
    ...drawCompareCurves(comparison),
  ].filter((figure): figure is Figure => figure !== null);
}
