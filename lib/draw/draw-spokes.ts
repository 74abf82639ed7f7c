import type { TrainResults } from "../report/results.ts";
import { type CropFrame, type CropSheet, countCell, defineSheet, drawCropWindow } from "./crop-sheet.ts";
import type { DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import { listTicks } from "./scale.ts";
import { tellSpokes } from "./shape-findings.ts";
import { chooseCrops, chooseWindowPx, type SpokeCrop } from "./spoke-layout.ts";
import { type Attributes, drawElement, drawLine, drawText, formatCoordinate } from "./svg.ts";
import { corners, nameTest, nameTrain, zoneNames } from "./words.ts";

/** Lists of a test's cut-outs: stars along the half-diagonals; single stars in every colour. */
export type SheetKind = "spokes" | "channels";

/** The sheet of a test's cut-outs as the page finds it; null where there is none. */
export type FindSheet = (test: string, kind: SheetKind) => CropSheet | null;

const cropSide = 43;
const contourBand = 38;

/** The contour is drawn larger than the cut-out, so that a few per cent of elongation can be seen. */
const contourScale = 2;
const rowHeight = 24 + cropSide + contourBand;
const left = 34;
const right = figureWidth - 30;
const top = 16;

/** The half-maximum contour as an ellipse with its long axis at the star's angle; `unitsPerPx` sets its size. */
function drawContour(crop: SpokeCrop, x: number, y: number, unitsPerPx: number): string {
  const q = Math.max(0.05, 1 - crop.ellipticity);
  const major = (crop.fwhmPx / Math.sqrt(q) / 2) * unitsPerPx;
  return drawElement("ellipse", {
    rx: major,
    ry: major * q,
    transform: `translate(${x.toFixed(1)} ${y.toFixed(1)})rotate(${(-crop.angleDeg).toFixed(1)})`,
  });
}

/** Frames of cut-outs as one element; `at`: their left edges. */
function drawFrames(at: readonly number[], y: number, attributes: Attributes): string {
  const side = formatCoordinate(cropSide);
  const d = at.map((x) => `M${x.toFixed(1)} ${y}h${side}v${side}h-${side}Z`).join("");
  return drawElement("path", { d, ...attributes });
}

/** `places`: where each stands in the list of the test's cut-outs. */
function writeTable(crops: readonly SpokeCrop[], places: ReadonlyMap<SpokeCrop, number>): DataTable {
  return {
    columns: [
      { key: "half_diagonal", heading: "Half-diagonal" },
      { key: "radius_mm", heading: "Field radius, mm" },
      { key: "x_mm", heading: "x, mm" },
      { key: "y_mm", heading: "y, mm" },
      { key: "fwhm_px", heading: "FWHM, px" },
      { key: "ellipticity", heading: "Ellipticity" },
      { key: "long_axis_deg", heading: "Long axis, degrees from +x" },
      { key: "cell", heading: "Place in the sheet" },
    ],
    rows: crops.map((crop) => [
      zoneNames[crop.halfDiagonal],
      Number(crop.rMm.toFixed(2)),
      Number(crop.xMm.toFixed(3)),
      Number(crop.yMm.toFixed(3)),
      Number(crop.fwhmPx.toFixed(3)),
      Number(crop.ellipticity.toFixed(4)),
      Number(crop.angleDeg.toFixed(1)),
      countCell(places.get(crop) ?? 0),
    ]),
  };
}

function drawRow(
  crops: readonly SpokeCrop[],
  drawPicture: (crop: SpokeCrop, frame: CropFrame) => string,
  rowTop: number,
  label: string,
  placeX: (rMm: number) => number,
  windowPx: number,
): string {
  const cropTop = rowTop + 22;
  const contourY = cropTop + cropSide + 20;
  const unitsPerPx = (contourScale * cropSide) / windowPx;
  const pictures = crops.map((crop) =>
    drawPicture(crop, {
      x: placeX(crop.rMm) - cropSide / 2,
      y: cropTop,
      width: cropSide,
      height: cropSide,
    }),
  );
  const edges = crops.map(({ rMm }) => placeX(rMm) - cropSide / 2);
  const contours = crops.map((crop) => drawContour(crop, placeX(crop.rMm), contourY, unitsPerPx));
  const axis = drawLine(placeX(0), cropTop + cropSide / 2, right, cropTop + cropSide / 2, {
    stroke: colours.rule,
    "stroke-width": 0.8,
  });
  return [
    drawText(placeX(0) - cropSide / 2, rowTop + 14, label, { class: "soft" }),
    axis,
    drawFrames(edges, cropTop, { fill: colours.paper }),
    ...pictures,
    drawFrames(edges, cropTop, { fill: "none", stroke: colours.rule, "stroke-width": 0.8 }),
    drawElement("g", { fill: "none", stroke: colours.ink, "stroke-width": 1.3 }, ...contours),
  ].join("");
}

/**
 * Star cut-outs along the four half-diagonals, a row each, every cut-out at its field radius with the half-maximum
 * contour of its fit below at the same scale; the centre's star starts each row. Null where no cut-out was kept.
 */
export function drawSpokes(results: TrainResults, testIndex: number, findSheet: FindSheet): Figure | null {
  const test = results.tests[testIndex];
  const halfDiagonalMm = Math.hypot(test.sensor.widthMm, test.sensor.heightMm) / 2;
  const listed = test.spokes?.crops ?? [];
  const places = new Map(listed.map((crop, index) => [crop, index]));
  const all = listed.filter((crop) =>
    [crop.rMm, crop.fwhmPx, crop.ellipticity, crop.angleDeg].every(Number.isFinite),
  );
  if (all.length === 0 || !(halfDiagonalMm > 0)) return null;
  const placeX = (rMm: number) => left + 22 + (rMm / halfDiagonalMm) * (right - left - 22);
  const windowPx = chooseWindowPx(all);
  const id = makeFigureId("fig-spokes", test.id, testIndex);
  const sheet = findSheet(test.id, "spokes");
  const sheetId = `${id}-sheet`;
  const drawPicture = (crop: SpokeCrop, frame: CropFrame) => {
    const index = places.get(crop) ?? 0;
    if (sheet === null || sheet.missing.has(index)) return "";
    return drawCropWindow(sheetId, sheet, { index, sidePx: crop.sidePx }, windowPx, frame);
  };
  const rows = corners.map((corner, k) => {
    const crops = chooseCrops(all, corner, (cropSide + 3) / (placeX(1) - placeX(0)));
    return drawRow(
      crops,
      drawPicture,
      top + k * rowHeight - 10,
      `to the ${zoneNames[corner]}`,
      placeX,
      windowPx,
    );
  });
  const foot = top + 4 * rowHeight - 4;
  const hairline = { stroke: colours.rule, "stroke-width": 0.8 };
  const ticks = listTicks(0, halfDiagonalMm, 6).map(({ value, label }) => {
    const x = placeX(value);
    return (
      drawLine(x, foot, x, foot + 4, hairline) +
      drawText(x, foot + 18, label, { class: "num", "text-anchor": "middle" })
    );
  });
  const title = tellSpokes(test);
  const umAcross = windowPx * test.scale.umPerPx;
  const subtitle = `Single stars from the centre to each corner, ${nameTest(test)}; each frame is ${windowPx} px (${umAcross.toFixed(0)} µm) wide, below it the half-maximum contour, twice as large.`;
  const alternative = `Four rows of star cut-outs of ${nameTrain(results)}, one for each half-diagonal, from the centre at the left to the corner at the right. ${title}.`;
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      foot + 44,
      sheet === null ? "" : defineSheet(sheetId, sheet),
      ...rows,
      drawLine(placeX(0), foot, right, foot, hairline),
      ...ticks,
      drawText(placeX(0), foot + 36, "Field radius, mm", { class: "soft" }),
    ),
    data: writeTable(all, places),
    chart: null,
  };
}
