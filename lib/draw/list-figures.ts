import type { TrainResults } from "../report/results.ts";
import { drawRadialAgainstRadius, drawWidthAgainstRadius } from "./draw-against-radius.ts";
import { drawShapeField } from "./draw-shape-field.ts";
import type { Figure } from "./figure.ts";

/** Address of a cut-out's picture from the page, or null where there is none. */
export type CropHref = (test: string, file: string) => string | null;

/** Every figure of a train in page order: those of the whole train, then those of each test in the order of the tests. */
export function listFigures(results: TrainResults, _cropHref: CropHref): Figure[] {
  const ofTests = results.tests.flatMap((_, k) => [
    drawShapeField(results, k),
    drawWidthAgainstRadius(results, k),
    drawRadialAgainstRadius(results, k),
  ]);
  return ofTests.filter((figure) => figure !== null);
}
