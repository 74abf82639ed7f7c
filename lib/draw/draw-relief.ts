import type { TestResults, TrainResults } from "../report/results.ts";
import { traceContours } from "./contour-lines.ts";
import { traceDepthBand } from "./depth-band.ts";
import type { DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import { type ReliefSurface, readReliefSurface } from "./relief-surface.ts";
import { chooseStep, formatSigned, listTicks } from "./scale.ts";
import { drawElement, drawLine, drawText, tracePath } from "./svg.ts";
import { corners, isKnown, nameTest, nameTrain, zoneNames } from "./words.ts";

const margin = { left: 40, right: 14, top: 16, bottom: 62 };
const mostLevels = 9;

type Sensor = TestResults["sensor"];

function listCornerHeights(surface: ReliefSurface, sensor: Sensor) {
  return corners.map((corner) => ({
    corner,
    height: surface.height(
      ((corner.endsWith("Left") ? -1 : 1) * sensor.widthMm) / 2,
      ((corner.startsWith("lower") ? -1 : 1) * sensor.heightMm) / 2,
    ),
  }));
}

function tellRelief(surface: ReliefSurface, sensor: Sensor, depthUm: number): string {
  const heights = listCornerHeights(surface, sensor);
  const far = heights.reduce((most, next) => (Math.abs(next.height) > Math.abs(most.height) ? next : most));
  if (heights.every(({ height }) => Math.abs(height) <= depthUm))
    return "All four corners lie within the depth of focus";
  const where = far.height > 0 ? "in front of" : "behind";
  return `In the ${zoneNames[far.corner]} corner focus lies ${Math.abs(far.height).toFixed(0)}\u00a0µm ${where} the sensor`;
}

function writeTable(surface: ReliefSurface, test: TestResults): DataTable {
  const columns = [
    { key: "x_mm", heading: "x, mm" },
    { key: "y_mm", heading: "y, mm" },
    { key: "height_um", heading: "Fitted surface, µm" },
    { key: "cell_height_um", heading: "Cell’s own stars, µm" },
    { key: "cell_error_um", heading: "Standard error, µm" },
  ];
  const mesh = test.sweep?.mesh;
  const round = (value: number, digits = 2) => Number(value.toFixed(digits));
  if (mesh !== undefined && mesh.xMm.length > 0) {
    return {
      columns,
      rows: mesh.xMm.map((x, k) => [
        x,
        mesh.yMm[k],
        round(surface.height(x, mesh.yMm[k])),
        round(mesh.heightUm[k]),
        round(mesh.errorUm[k]),
      ]),
    };
  }
  const { widthMm, heightMm } = test.sensor;
  const places = [-1, -0.5, 0, 0.5, 1].flatMap((u) =>
    [-1, -0.5, 0, 0.5, 1].map((v) => [(u * widthMm) / 2, (v * heightMm) / 2]),
  );
  return {
    columns,
    rows: places.map(([x, y]) => [round(x), round(y), round(surface.height(x, y)), null, null]),
  };
}

/**
 * Focus relief of a test: contours of the focal surface over the sensor in um, with the part within the depth of focus
 * tinted. From the sweep, or from the field model where the sign of its heights is known; null where neither is there.
 */
export function drawRelief(results: TrainResults, testIndex: number): Figure | null {
  const test = results.tests[testIndex];
  const surface = readReliefSurface(test);
  const { widthMm, heightMm } = test.sensor;
  if (surface === null || !(widthMm > 0) || !(heightMm > 0)) return null;
  const depth = results.sampling.depthOfFocus;
  const depthUm = isKnown(depth) ? depth.value / 2 : 0;
  const room = figureWidth - margin.left - margin.right;
  const unitsPerMm = Math.min(room / widthMm, 400 / heightMm);
  const half = { x: (widthMm / 2) * unitsPerMm, y: (heightMm / 2) * unitsPerMm };
  const centre = { x: margin.left + room / 2, y: margin.top + half.y };
  const place = (x: number, y: number): [number, number] => [
    centre.x + x * unitsPerMm,
    centre.y - y * unitsPerMm,
  ];
  const heights = [
    ...listCornerHeights(surface, test.sensor).map(({ height }) => height),
    surface.height(0, 0),
    0,
  ];
  const [low, high] = [Math.min(...heights), Math.max(...heights)];
  const step = chooseStep(high - low, mostLevels);
  const levels: number[] = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9; k++) levels.push(k * step);
  const box = { left: -widthMm / 2, right: widthMm / 2, bottom: -heightMm / 2, top: heightMm / 2 };
  const decimals = step < 1 ? 1 : 0;
  const lines = traceContours(surface.height, box, levels).flatMap(({ level, runs }) =>
    runs
      .filter((run) => run.length > 3)
      .map((run) => {
        const path = drawElement("path", {
          d: tracePath(run.map(([x, y]) => place(x, y))),
          fill: "none",
          stroke: colours.ink,
          "stroke-width": level === 0 ? 1.8 : 0.9,
          "stroke-dasharray": level < 0 ? "5 3" : undefined,
        });
        const [lx, ly] = place(...run[run.length >> 1]);
        const inside = Math.abs(lx - centre.x) < half.x - 16 && Math.abs(ly - centre.y) < half.y - 8;
        const label = drawText(lx, ly + 4, formatSigned(level, decimals), {
          class: "num",
          "text-anchor": "middle",
          stroke: colours.paper,
          "stroke-width": 4,
          "paint-order": "stroke",
        });
        return path + (inside ? label : "");
      }),
  );
  const foot = centre.y + half.y;
  const hairline = { stroke: colours.rule, "stroke-width": 0.8 };
  const ticks = [
    ...listTicks(-widthMm / 2, widthMm / 2, 6).map(({ value, label }) => {
      const [x] = place(value, 0);
      return (
        drawLine(x, foot, x, foot + 4, hairline) +
        drawText(x, foot + 18, label, { class: "num", "text-anchor": "middle" })
      );
    }),
    ...listTicks(-heightMm / 2, heightMm / 2, 6).map(({ value, label }) => {
      const [, y] = place(0, value);
      const x = centre.x - half.x;
      return (
        drawLine(x - 4, y, x, y, hairline) +
        drawText(x - 7, y + 4, label, { class: "num", "text-anchor": "end" })
      );
    }),
  ];
  const keyY = foot + 40;
  const key =
    drawElement("rect", {
      x: margin.left,
      y: keyY - 9,
      width: 22,
      height: 12,
      fill: colours.accent,
      "fill-opacity": 0.18,
    }) +
    drawText(margin.left + 29, keyY + 1, `within ±${depthUm.toFixed(0)} µm: the depth of focus`, {
      class: "soft",
    }) +
    drawText(figureWidth - margin.right, keyY + 1, "mm from the centre, as displayed", {
      class: "soft",
      "text-anchor": "end",
    });
  const id = makeFigureId("fig-relief", test.id, testIndex);
  const title = tellRelief(surface, test.sensor, depthUm);
  const where =
    surface.from === "sweep"
      ? "from the focus sweep, the sensor at the best common focus"
      : "from the field model of the frames, at their focus";
  const subtitle = `Height of the focal surface over the sensor in micrometres, ${where}, ${nameTest(test)}; full lines: towards the telescope, broken lines: behind the sensor.`;
  const alternative = `Contour map of the focal surface of ${nameTrain(results)} on the sensor, heights from ${formatSigned(low, 0)} to ${formatSigned(high, 0)} µm. ${title}.`;
  const outline = drawElement("rect", {
    x: centre.x - half.x,
    y: centre.y - half.y,
    width: 2 * half.x,
    height: 2 * half.y,
    fill: "none",
    ...hairline,
  });
  const band = drawElement("path", {
    d: traceDepthBand(surface, test.sensor, depthUm, place) || "M0 0",
    fill: colours.accent,
    "fill-opacity": 0.18,
  });
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      foot + margin.bottom - 8,
      band,
      ...lines,
      outline,
      ...ticks,
      key,
    ),
    data: writeTable(surface, test),
    chart: null,
  };
}
