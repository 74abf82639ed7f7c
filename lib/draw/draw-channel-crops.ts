import type { ColourCrop, ColourResults } from "../report/colour-results.ts";
import type { TestResults, TrainResults } from "../report/results.ts";
import { capitalize, nameColour } from "./colour-words.ts";
import { type CropFrame, countCell, defineSheet, drawCropWindow } from "./crop-sheet.ts";
import type { FindSheet } from "./draw-spokes.ts";
import type { DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import { drawElement, drawLine, drawText } from "./svg.ts";
import { fitText } from "./text-width.ts";
import { corners, nameTest, nameTrain, zoneNames } from "./words.ts";

const left = 52;
const top = 30;
const gap = 8;
const side = (figureWidth - left - 8 - 4 * gap) / 5;
/** Widths of a star that a cut-out shows. */
const widthsShown = 3;
const places = ["centre", ...corners] as const;

type Place = (typeof places)[number];

function chooseWindow(test: TestResults, crops: readonly ColourCrop[]): number {
  const width = test.zones?.corner.sampledFwhm.value ?? 3;
  const smallest = Math.min(...crops.map(({ sidePx }) => sidePx));
  return Math.max(7, Math.min(smallest, Math.ceil(widthsShown * width)));
}

/** One cut-out with the reference's place as hairlines across it and the channel's own as a small cross. */
function drawCell(
  crop: ColourCrop,
  reference: ColourCrop | undefined,
  drawPicture: (frame: CropFrame) => string,
  at: { x: number; y: number },
  windowPx: number,
): string {
  const unit = side / windowPx;
  const edge = { x: at.x, y: at.y, width: side, height: side };
  // The pixel that the square is cut about has its middle half a pixel beyond the square's.
  const place = (shift: number, from: number) => from + (windowPx / 2 + 0.5 + shift) * unit;
  const lines: string[] = [];
  if (reference?.dxPx != null && reference.dyPx != null) {
    const [x, y] = [place(reference.dxPx, at.x), place(reference.dyPx, at.y)];
    const hairline = { stroke: colours.accent, "stroke-width": 0.9 };
    lines.push(drawLine(x, at.y, x, at.y + side, hairline), drawLine(at.x, y, at.x + side, y, hairline));
  }
  if (crop.dxPx !== null && crop.dyPx !== null) {
    const [x, y] = [place(crop.dxPx, at.x), place(crop.dyPx, at.y)];
    const cross = (extra: { stroke: string; "stroke-width": number }) =>
      drawLine(x - 5, y - 5, x + 5, y + 5, extra) + drawLine(x - 5, y + 5, x + 5, y - 5, extra);
    lines.push(
      cross({ stroke: colours.paper, "stroke-width": 3.4 }),
      cross({ stroke: colours.ink, "stroke-width": 1.5 }),
    );
  }
  return (
    drawElement("rect", { ...edge, fill: colours.paper }) +
    drawPicture(edge) +
    drawElement("rect", { ...edge, fill: "none", stroke: colours.rule, "stroke-width": 0.8 }) +
    lines.join("")
  );
}

function writeTable(crops: readonly ColourCrop[], colour: ColourResults): DataTable {
  const round = (value: number | null, digits = 3) => (value === null ? null : Number(value.toFixed(digits)));
  return {
    columns: [
      { key: "place", heading: "Place" },
      { key: "channel", heading: "Channel" },
      { key: "radius_mm", heading: "Field radius, mm" },
      { key: "right_of_reference_px", heading: "Right of the reference’s place, px" },
      { key: "above_reference_px", heading: "Above it, px" },
      { key: "cell", heading: "Place in the sheet" },
    ],
    rows: crops.map((crop, index) => {
      const reference = crops.find(
        ({ place, channel }) => place === crop.place && channel === colour.reference,
      );
      const known =
        crop.dxPx !== null && crop.dyPx !== null && reference?.dxPx != null && reference.dyPx != null;
      return [
        zoneNames[crop.place],
        nameColour(crop.channel),
        round(crop.rMm, 2),
        known ? round((crop.dxPx ?? 0) - (reference.dxPx ?? 0)) : null,
        known ? round((reference.dyPx ?? 0) - (crop.dyPx ?? 0)) : null,
        countCell(index),
      ];
    }),
  };
}

/** Largest distance of a colour from the reference over the stars shown, px. */
function tellCrops(crops: readonly ColourCrop[], colour: ColourResults): string {
  let most: { crop: ColourCrop; apartPx: number } | null = null;
  for (const crop of crops) {
    const reference = crops.find(
      ({ place, channel }) => place === crop.place && channel === colour.reference,
    );
    if (crop.dxPx === null || crop.dyPx === null || reference?.dxPx == null || reference.dyPx == null)
      continue;
    const apartPx = Math.hypot(crop.dxPx - reference.dxPx, crop.dyPx - reference.dyPx);
    if (most === null || apartPx > most.apartPx) most = { crop, apartPx };
  }
  if (most === null || most.apartPx < 0.05) return "The same stars in every colour";
  return `${capitalize(nameColour(most.crop.channel))} lies ${most.apartPx.toFixed(2)}\u00a0px from ${nameColour(colour.reference)} in the ${zoneNames[most.crop.place]} star`;
}

/**
 * The same star of the centre and of each corner in every channel, one row a channel: hairlines through the reference
 * channel's place, a cross at the channel's own. Null where no cut-outs were kept.
 */
export function drawChannelCrops(
  results: TrainResults,
  testIndex: number,
  findSheet: FindSheet,
): Figure | null {
  const test = results.tests[testIndex];
  const { colour } = test;
  const crops = colour?.crops ?? [];
  if (colour === null || crops.length === 0) return null;
  const rank = (channel: string) => ["R", "G", "B"].indexOf(channel);
  const channels = [...new Set(crops.map(({ channel }) => channel))].sort((a, b) => rank(a) - rank(b));
  const windowPx = chooseWindow(test, crops);
  const columnX = (place: Place) => left + places.indexOf(place) * (side + gap);
  const rowY = (channel: string) => top + channels.indexOf(channel) * (side + gap);
  const id = makeFigureId("fig-channel-crops", test.id, testIndex);
  const sheet = findSheet(test.id, "channels");
  const sheetId = `${id}-sheet`;
  const cells = crops.map((crop, index) =>
    drawCell(
      crop,
      crops.find(({ place, channel }) => place === crop.place && channel === colour.reference),
      (frame) =>
        sheet === null || sheet.missing.has(index)
          ? ""
          : drawCropWindow(sheetId, sheet, { index, sidePx: crop.sidePx }, windowPx, frame),
      { x: columnX(crop.place), y: rowY(crop.channel) },
      windowPx,
    ),
  );
  const heads = places.map((place) =>
    drawText(columnX(place) + side / 2, top - 9, zoneNames[place], {
      class: "soft",
      "text-anchor": "middle",
    }),
  );
  const names = channels.map((channel) =>
    drawText(4, rowY(channel) + side / 2 + 4, fitText(nameColour(channel), left - 10)),
  );
  const title = tellCrops(crops, colour);
  const umAcross = (windowPx * test.scale.umPerPx).toFixed(0);
  const subtitle = `One star of the centre and of each corner, ${nameTest(test)}, first frame; each cut-out is ${windowPx} px (${umAcross} µm) wide. Lines: the star’s place in ${nameColour(colour.reference)}; cross: in the row’s own colour. Pixels of other colours are filled from their neighbours for the eye.`;
  const alternative = `Cut-outs of the same stars of ${nameTrain(results)} in ${channels.map(nameColour).join(", ")}. ${title}.`;
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      top + channels.length * (side + gap) + 2,
      sheet === null ? "" : defineSheet(sheetId, sheet),
      ...heads,
      ...names,
      ...cells,
    ),
    data: writeTable(crops, colour),
    chart: null,
  };
}
