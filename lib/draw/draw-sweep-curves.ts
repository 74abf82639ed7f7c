import type { TestResults, TrainResults, Zone } from "../report/results.ts";
import { drawFootAxis, drawSideAxis, type PlotArea } from "./axes.ts";
import type { ChartSettings, DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { dashes, drawMark, pickColour, type Slot } from "./marks.ts";
import { colours } from "./palette.ts";
import { chooseRange, formatSigned, makeScale, type Scale } from "./scale.ts";
import { drawElement, drawLine, drawText, tracePath } from "./svg.ts";
import { corners, isKnown, nameTest, nameTrain, zoneNames } from "./words.ts";

type Sweep = NonNullable<TestResults["sweep"]>;
type Curve = NonNullable<Sweep["curves"]>[number];

/** Strips under each other on one axis of positions: how far a zone's least width lies off the others' shows at once. */
const stripHeight = 66;
const stripGap = 16;
const left = 112;
const right = figureWidth - 16;
const top = 62;

const order: readonly Zone[] = ["centre", ...corners];

const directions: { key: "along" | "across"; slot: Slot; words: string }[] = [
  { key: "along", slot: "series-1", words: "FWHM, µm, along the radius" },
  { key: "across", slot: "series-3", words: "across it" },
];

function tellSweep(sweep: Sweep): string {
  const known = corners.flatMap((corner) => {
    const best = sweep.zones[corner].best;
    return isKnown(best) ? [{ corner, best }] : [];
  });
  if (known.length === 0) return "Star width against focus, by zone";
  const far = known.reduce((most, next) =>
    Math.abs(next.best.value) > Math.abs(most.best.value) ? next : most,
  );
  if (far.best.lo <= 0 && far.best.hi >= 0)
    return "No corner’s best focus differs measurably from the centre’s";
  const way = far.best.value > 0 ? "nearer to the telescope" : "farther from the telescope";
  return `Best focus in the ${zoneNames[far.corner]} lies ${Math.abs(far.best.value).toFixed(0)}\u00a0µm ${way} than the centre’s`;
}

function writeTable(curves: readonly Curve[]): DataTable {
  const cells = (quantity: Curve["along"][number]) =>
    isKnown(quantity)
      ? [quantity.value, quantity.lo, quantity.hi].map((value) => Number(value.toFixed(3)))
      : [null, null, null];
  return {
    columns: [
      { key: "zone", heading: "Zone" },
      { key: "position_um", heading: "Position, µm" },
      { key: "along_um", heading: "Width along the radius, µm" },
      { key: "along_lo_um", heading: "95 % from" },
      { key: "along_hi_um", heading: "to" },
      { key: "across_um", heading: "Width across it, µm" },
      { key: "across_lo_um", heading: "95 % from" },
      { key: "across_hi_um", heading: "to" },
    ],
    rows: curves.flatMap((curve) =>
      curve.positionUm.map((position, k) => [
        zoneNames[curve.zone],
        Number(position.toFixed(2)),
        ...cells(curve.along[k]),
        ...cells(curve.across[k]),
      ]),
    ),
  };
}

function makeChart(curves: readonly Curve[]): ChartSettings {
  const slots: Slot[] = ["series-1", "series-2", "series-3", "series-4"];
  const chosen = curves.filter(({ zone }) => zone !== "centre");
  return {
    kind: "line",
    xTitle: "Position, µm",
    units: {
      only: {
        yTitle: "Width along the radius, µm",
        series: chosen.map((curve, k) => {
          const known = curve.positionUm.flatMap((position, at) => {
            const width = curve.along[at];
            return isKnown(width) ? [{ position, width }] : [];
          });
          const round = (value: number) => Number(value.toPrecision(4));
          return {
            label: zoneNames[curve.zone],
            slot: slots[k % slots.length],
            line: true,
            points: known.map(({ position, width }): [number, number] => [
              round(position),
              round(width.value),
            ]),
            intervals: known.map(({ width }): [number, number] => [round(width.lo), round(width.hi)]),
          };
        }),
      },
    },
  };
}

function drawStrip(curve: Curve, area: PlotArea, x: Scale, y: Scale): string {
  const hold = (value: number) => y.place(Math.min(y.to, Math.max(y.from, value)));
  const lines = directions.map(({ key, slot }) => {
    const stroke = { stroke: pickColour(slot), fill: "none" };
    const fitted = key === "along" ? curve.fitted.alongUm : curve.fitted.acrossUm;
    const path = drawElement("path", {
      d: tracePath(curve.fitted.positionUm.map((p, k) => [x.place(p), hold(fitted[k])] as const)) || "M0 0",
      ...stroke,
      "stroke-width": 1.2,
      "stroke-dasharray": dashes[slot] || undefined,
    });
    const marks = curve.positionUm.map((position, k) => {
      const width = curve[key][k];
      if (!isKnown(width)) return "";
      const at = x.place(position);
      return (
        drawLine(at, hold(width.lo), at, hold(width.hi), { ...stroke, "stroke-width": 1.4 }) +
        drawMark(slot, at, hold(width.value), 2.6)
      );
    });
    return path + marks.join("");
  });
  const foot = drawLine(area.left, area.bottom, area.right, area.bottom, {
    stroke: colours.rule,
    "stroke-width": 0.8,
  });
  const name = drawText(4, (area.top + area.bottom) / 2 + 4, zoneNames[curve.zone], { class: "strong" });
  return lines.join("") + foot + name;
}

/**
 * Star width along and across the radius against the focuser's position, in the centre and in each corner. Null without a
 * sweep.
 */
export function drawSweepCurves(results: TrainResults, testIndex: number): Figure | null {
  const test = results.tests[testIndex];
  const curves = test.sweep?.curves?.filter(({ along }) => along.some(isKnown)) ?? [];
  if (test.sweep === null || curves.length === 0) return null;
  const positions = curves.flatMap(({ positionUm }) => positionUm);
  const widths = curves.flatMap((curve) =>
    [...curve.along, ...curve.across].flatMap((q) => (isKnown(q) ? [q.value] : [])),
  );
  const [from, to] = chooseRange(positions);
  const [low, high] = chooseRange(widths, 3);
  const best = isKnown(test.sweep.bestPosition) ? test.sweep.bestPosition.value : null;
  const inOrder = order.flatMap((zone) => curves.filter((curve) => curve.zone === zone));
  const x = makeScale(from, to, left, right);
  const strips = inOrder.map((_, row): PlotArea => {
    const start = top + row * (stripHeight + stripGap);
    return { left, right, top: start, bottom: start + stripHeight };
  });
  const drawn = inOrder.map((curve, row) => {
    const y = makeScale(low, high, strips[row].bottom, strips[row].top);
    return drawStrip(curve, strips[row], x, y) + drawSideAxis(strips[row], y, "", 3);
  });
  const last = strips[strips.length - 1];
  const atBest =
    best !== null && best >= from && best <= to
      ? drawLine(x.place(best), top, x.place(best), last.bottom, {
          stroke: colours.accent,
          "stroke-width": 1,
          "stroke-dasharray": "3 3",
        })
      : "";
  const legend = directions.map(
    ({ slot, words }, k) => drawMark(slot, 16 + 240 * k, 14) + drawText(28 + 240 * k, 18, words),
  );
  const common = drawText(
    12,
    40,
    best === null ? "" : `broken: best common focus, ${formatSigned(best, 0)} µm`,
    {
      fill: colours.accent,
    },
  );
  const id = makeFigureId("fig-sweep", test.id, testIndex);
  const title = tellSweep(test.sweep);
  const frames = test.sweep.frames?.length ?? curves[0].positionUm.length;
  const subtitle = `Median full width at half maximum in µm along and across the radius, ${frames} positions, 95\u00a0% intervals, ${nameTest(test)}; lines: the fit of all stars together.`;
  const alternative = `Strips of star width against focus of ${nameTrain(results)} under each other, one for the centre and one for each corner. ${title}.`;
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      last.bottom + 44,
      ...legend,
      common,
      atBest,
      ...drawn,
      drawFootAxis(last, x, "Position of the sensor, µm (+ away)"),
    ),
    data: writeTable(curves),
    chart: makeChart(curves),
  };
}
