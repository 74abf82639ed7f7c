import type { ColourHalo, ColourResults } from "../report/colour-results.ts";
import type { TrainResults } from "../report/results.ts";
import { drawFootAxis, drawSideAxis, type PlotArea } from "./axes.ts";
import { nameColour, pickPairSlot } from "./colour-words.ts";
import type { DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { dashes, drawMarks, pickColour } from "./marks.ts";
import { colours } from "./palette.ts";
import { chooseRange, makeScale, type Scale } from "./scale.ts";
import { drawElement, drawLine, drawText, tracePath } from "./svg.ts";
import { fitText, spreadLabels } from "./text-width.ts";
import { isKnown, nameTest, nameTrain } from "./words.ts";

const area: PlotArea = { left: 46, right: figureWidth - 92, top: 34, bottom: 228 };
const height = 272;

interface Curve {
  name: string;
  points: { rUm: number; value: number; lo: number; hi: number }[];
}

function listCurves(halo: ColourHalo, reference: string): Curve[] {
  return Object.entries(halo.beyond.channels)
    .filter(([name]) => name !== reference)
    .map(([name, list]) => ({
      name,
      points: list.flatMap(({ overReference: ratio }, k) =>
        isKnown(ratio) ? [{ rUm: halo.beyond.rUm[k], value: ratio.value, lo: ratio.lo, hi: ratio.hi }] : [],
      ),
    }))
    .filter(({ points }) => points.length > 1);
}

function tellHalo(halo: ColourHalo, reference: string): string {
  const from = isKnown(halo.fromUm) ? `${halo.fromUm.value.toFixed(0)}\u00a0µm` : "the core";
  const told = Object.entries(halo.channels).flatMap(([name, { overReference: ratio }]) =>
    name !== reference && isKnown(ratio) && (ratio.lo > 1 || ratio.hi < 1) ? [{ name, ratio }] : [],
  );
  const green = nameColour(reference);
  if (told.length === 0)
    return `No colour is told to have more or less light than ${green} beyond ${from} from a star`;
  const most = told.reduce((a, b) =>
    Math.abs(Math.log(b.ratio.value)) > Math.abs(Math.log(a.ratio.value)) ? b : a,
  );
  return `Beyond ${from} from a star ${nameColour(most.name)} has ${most.ratio.value.toFixed(2)} times ${green}’s light`;
}

function drawCurve({ points }: Curve, index: number, x: Scale, y: Scale): string {
  const slot = pickPairSlot(index);
  // Bars of colours at one distance would hide one another.
  const placed = points.map((point) => ({ ...point, at: x.place(point.rUm) + 3 * index }));
  const bars = placed.map(
    ({ at, lo, hi }) => `M${at.toFixed(1)} ${y.place(lo).toFixed(1)}V${y.place(hi).toFixed(1)}`,
  );
  return (
    drawElement("path", { d: bars.join(""), stroke: pickColour(slot), "stroke-width": 1, fill: "none" }) +
    drawElement("path", {
      d: tracePath(placed.map(({ at, value }) => [at, y.place(value)] as const)),
      stroke: pickColour(slot),
      fill: "none",
      "stroke-width": 1.3,
      "stroke-dasharray": dashes[slot] || undefined,
    }) +
    drawMarks(
      slot,
      placed.map(({ at, value }) => [at, y.place(value)] as const),
    )
  );
}

function writeTable(halo: ColourHalo): DataTable {
  const interval = (key: string, heading: string) => [
    { key, heading },
    { key: `${key}_lo`, heading: "95 % from" },
    { key: `${key}_hi`, heading: "to" },
  ];
  return {
    columns: [
      { key: "channel", heading: "Channel" },
      { key: "beyond_um", heading: "Beyond, µm" },
      ...interval("share_percent", "Share of the star’s light, %"),
      ...interval("over_reference", "Over the reference channel’s"),
      { key: "stars", heading: "Stars" },
    ],
    rows: Object.entries(halo.beyond.channels).flatMap(([name, list]) =>
      list.map(({ share, overReference }, k) => [
        name,
        Number(halo.beyond.rUm[k].toFixed(2)),
        ...[share, overReference].flatMap((quantity) =>
          isKnown(quantity)
            ? [quantity.value, quantity.lo, quantity.hi].map((value) => Number(value.toPrecision(4)))
            : [null, null, null],
        ),
        isKnown(share) ? share.n : null,
      ]),
    ),
  };
}

function readHalo(colour: ColourResults | null, id: string): { halo: ColourHalo; reference: string } | null {
  if (colour === null || colour.halo === null || colour.tests[0] !== id) return null;
  return { halo: colour.halo, reference: colour.reference };
}

/**
 * Light beyond a distance from bright stars in each colour over the reference colour's, star by star: medians with 95 % bars
 * against the distance. Null where no halo was measured.
 */
export function drawHalo(results: TrainResults, testIndex: number): Figure | null {
  const test = results.tests[testIndex];
  const found = readHalo(test.colour, test.id);
  if (found === null) return null;
  const { halo, reference } = found;
  const curves = listCurves(halo, reference);
  if (curves.length === 0) return null;
  const all = curves.flatMap(({ points }) => points);
  const [low, high] = chooseRange([1, 0.95, 1.05, ...all.flatMap(({ lo, hi }) => [lo, hi])]);
  const x = makeScale(0, Math.max(...all.map(({ rUm }) => rUm)) * 1.06, area.left, area.right);
  const y = makeScale(low, high, area.bottom, area.top);
  const ends = curves.map(({ points }) => y.place(points[points.length - 1].value));
  const labelY = spreadLabels(ends, 16, area.top, area.bottom);
  const green = nameColour(reference);
  const id = makeFigureId("fig-halo", test.id, testIndex);
  const title = tellHalo(halo, reference);
  const to = isKnown(halo.toUm) ? ` and within ${halo.toUm.value.toFixed(0)}\u00a0µm` : "";
  const alternative = `How much light stars of ${nameTrain(results)} have far from their centres in each colour, against ${green}. ${title}.`;
  const stars = Math.max(...Object.values(halo.channels).map(({ share }) => (isKnown(share) ? share.n : 0)));
  const one = y.place(1);
  return {
    id,
    test: test.id,
    title,
    subtitle: `Share of a star’s light beyond each distance${to} over the same share in ${fitText(green, 120)}, ${nameTest(test)}; median of ${stars} bright lone stars with 95\u00a0% bars. The line at 1 is ${fitText(green, 120)}.`,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      height,
      drawLine(area.left, one, area.right, one, { stroke: colours.rule, "stroke-width": 0.8 }),
      ...curves.map((curve, k) => drawCurve(curve, k, x, y)),
      ...curves.map(({ name }, k) =>
        drawText(area.right + 8, labelY[k] + 4, fitText(nameColour(name), figureWidth - area.right - 12)),
      ),
      drawSideAxis(area, y, `Light over ${fitText(green, 120)}’s`),
      drawFootAxis(area, x, "Beyond this distance from the star, µm"),
    ),
    data: writeTable(halo),
    chart: {
      kind: "scatter",
      xTitle: "Beyond this distance from the star, µm",
      units: {
        only: {
          yTitle: `Light over ${green}’s`,
          series: curves.map(({ name, points }, k) => ({
            label: nameColour(name),
            slot: pickPairSlot(k),
            line: true,
            points: points.map(({ rUm, value }): [number, number] => [
              Number(rUm.toPrecision(4)),
              Number(value.toPrecision(4)),
            ]),
            intervals: points.map(({ lo, hi }): [number, number] => [
              Number(lo.toPrecision(4)),
              Number(hi.toPrecision(4)),
            ]),
          })),
        },
      },
    },
  };
}
