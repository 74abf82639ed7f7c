import { recall } from "../maths/remember.ts";
import type { TrainResults } from "../report/results.ts";
import type { CropSheet } from "./crop-sheet.ts";
import { drawRadialAgainstRadius, drawWidthAgainstRadius } from "./draw-against-radius.ts";
import { drawChannelCrops } from "./draw-channel-crops.ts";
import { drawColourRadius } from "./draw-colour-radius.ts";
import { drawEdge } from "./draw-edge.ts";
import { drawHalo } from "./draw-halo.ts";
import { drawHistory } from "./draw-history.ts";
import { drawLedger } from "./draw-ledger.ts";
import { drawLightMap } from "./draw-light-map.ts";
import { drawLightProfile } from "./draw-light-profile.ts";
import { drawMoves } from "./draw-moves.ts";
import { drawNight } from "./draw-night.ts";
import { drawRelief } from "./draw-relief.ts";
import { drawSampling } from "./draw-sampling.ts";
import { drawSection } from "./draw-section.ts";
import { drawShapeField } from "./draw-shape-field.ts";
import { drawShims } from "./draw-shims.ts";
import { drawSpokes, type FindSheet, type SheetKind } from "./draw-spokes.ts";
import { drawSweepCurves } from "./draw-sweep-curves.ts";
import { drawZoneRange } from "./draw-zone-range.ts";
import type { Figure } from "./figure.ts";

export type { FindSheet, SheetKind } from "./draw-spokes.ts";

/** Every figure of a train in page order: those of the whole train, then those of each test in the order of the tests. */
export function listFigures(results: TrainResults, findSheet: FindSheet): Figure[] {
  const sheets = results.tests.flatMap(({ id }) =>
    sheetKinds.map((kind): ListedSheet => {
      const sheet = findSheet(id, kind);
      return { test: id, kind, sheet: sheet && { ...sheet, missing: [...sheet.missing] } };
    }),
  );
  return recall("draw/list-figures", drawAll, takeDrawn(results), sheets);
}

const sheetKinds: readonly SheetKind[] = ["spokes", "channels"];

/** A sheet of cut-outs as plain data. */
interface ListedSheet {
  test: string;
  kind: SheetKind;
  sheet: (Omit<CropSheet, "missing"> & { missing: number[] }) | null;
}

/** Without the author's account and the texts of the records, of which nothing is drawn. */
function takeDrawn(results: TrainResults): TrainResults {
  const { page, provenance } = results;
  return {
    ...results,
    page: { ...page, reviewMarkdown: null, summary: "", records: [], cautions: [] },
    provenance: { ...provenance, records: [] },
    findings: [],
    comparisons: [],
  };
}

function drawAll(results: TrainResults, sheets: readonly ListedSheet[]): Figure[] {
  const findSheet: FindSheet = (test, kind) => {
    const found = sheets.find((one) => one.test === test && one.kind === kind)?.sheet ?? null;
    return found && { ...found, missing: new Set(found.missing) };
  };
  const ofTests = results.tests.flatMap((_, k) => [
    drawSpokes(results, k, findSheet),
    drawShapeField(results, k),
    drawWidthAgainstRadius(results, k),
    drawRadialAgainstRadius(results, k),
    drawLightProfile(results, k),
    drawLightMap(results, k),
    drawColourRadius(results, k),
    drawChannelCrops(results, k, findSheet),
    drawHalo(results, k),
    drawEdge(results, k),
    drawRelief(results, k),
    drawSweepCurves(results, k),
    drawMoves(results, k),
    drawShims(results, k),
    drawNight(results, k),
  ]);
  const ofTrain = [
    drawSection(results),
    drawSampling(results),
    drawZoneRange(results),
    drawHistory(results),
    drawLedger(results),
  ];
  return [...ofTrain, ...ofTests].filter((figure) => figure !== null);
}
