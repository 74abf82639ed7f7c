import type { TestResults, TrainResults } from "../report/results.ts";
import { traceContours } from "./contour-lines.ts";
import type { Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { type Light, pickLight } from "./light-words.ts";
import { colours } from "./palette.ts";
import { chooseStep, listTicks } from "./scale.ts";
import { drawElement, drawLine, drawText, tracePath } from "./svg.ts";
import { corners, isKnown, nameTest, nameTrain, zoneNames } from "./words.ts";

const margin = { left: 40, right: 14, top: 16, bottom: 62 };
const mostLevels = 8;
/** Percent of the brightest down to which the field counts as fully lit. */
const fullyLit = 99;

type Sensor = TestResults["sensor"];

/** The map's light at a point, mm, by bilinear interpolation of its grid. */
function makeReader({ map }: Light, sensor: Sensor): (x: number, y: number) => number {
  const within = (value: number, most: number) => Math.min(most - 1.000001, Math.max(0, value));
  return (x, y) => {
    const u = within((x / sensor.widthMm + 0.5) * (map.columns - 1), map.columns);
    const v = within((y / sensor.heightMm + 0.5) * (map.rows - 1), map.rows);
    const [i, j] = [Math.floor(u), Math.floor(v)];
    const at = (column: number, row: number) => map.percent[row * map.columns + column];
    const lower = at(i, j) + (at(i + 1, j) - at(i, j)) * (u - i);
    const upper = at(i, j + 1) + (at(i + 1, j + 1) - at(i, j + 1)) * (u - i);
    return lower + (upper - lower) * (v - j);
  };
}

function tellMap(light: Light): string {
  const known = corners.flatMap((corner) => {
    const quantity = light.corners[corner];
    return isKnown(quantity) ? [{ corner, quantity }] : [];
  });
  if (known.length < 4) return "Light over the part of the sensor that the flats show";
  const sorted = known.sort((a, b) => a.quantity.value - b.quantity.value);
  const [darkest, brightest] = [sorted[0], sorted[3]];
  if (brightest.quantity.value - darkest.quantity.value < 1)
    return "The four corners are alike to one percent of the light";
  return `The ${zoneNames[darkest.corner]} corner keeps ${darkest.quantity.value.toFixed(0)}\u00a0%, the ${zoneNames[brightest.corner]} ${brightest.quantity.value.toFixed(0)}\u00a0%`;
}

/** Light over the sensor as contours in percent of the brightest, with the brightest point; null without flats. */
export function drawLightMap(results: TrainResults, testIndex: number): Figure | null {
  const test = results.tests[testIndex];
  const picked = pickLight(test);
  const { widthMm, heightMm } = test.sensor;
  if (picked === null || !(widthMm > 0) || !(heightMm > 0)) return null;
  const { light, channel } = picked;
  const room = figureWidth - margin.left - margin.right;
  const unitsPerMm = Math.min(room / widthMm, 400 / heightMm);
  const half = { x: (widthMm / 2) * unitsPerMm, y: (heightMm / 2) * unitsPerMm };
  const centre = { x: margin.left + room / 2, y: margin.top + half.y };
  const place = (x: number, y: number): [number, number] => [
    centre.x + x * unitsPerMm,
    centre.y - y * unitsPerMm,
  ];
  const read = makeReader(light, test.sensor);
  const low = Math.min(...light.map.percent);
  const step = Math.max(0.1, chooseStep(100 - low, mostLevels));
  const levels: number[] = [];
  for (let level = 100 - step; level > low; level -= step) levels.push(Number(level.toFixed(6)));
  // The edge of the fully lit field, broken, where the other lines lie further apart.
  if (low < fullyLit && step > 1) levels.push(fullyLit);
  const box = { left: -widthMm / 2, right: widthMm / 2, bottom: -heightMm / 2, top: heightMm / 2 };
  const decimals = step < 1 ? 1 : 0;
  const lines = traceContours(read, box, levels).flatMap(({ level, runs }) =>
    runs
      .filter((run) => run.length > 3)
      .map((run) => {
        const [lx, ly] = place(...run[run.length >> 1]);
        const inside = Math.abs(lx - centre.x) < half.x - 16 && Math.abs(ly - centre.y) < half.y - 8;
        const label = drawText(lx, ly + 4, level.toFixed(decimals), {
          class: "num",
          "text-anchor": "middle",
          stroke: colours.paper,
          "stroke-width": 4,
          "paint-order": "stroke",
        });
        return (
          drawElement("path", {
            d: tracePath(run.map(([x, y]) => place(x, y))),
            fill: "none",
            stroke: colours.ink,
            "stroke-width": 0.9,
            "stroke-dasharray": level === fullyLit ? "5 3" : undefined,
          }) + (inside ? label : "")
        );
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
      return (
        drawLine(centre.x - half.x - 4, y, centre.x - half.x, y, hairline) +
        drawText(centre.x - half.x - 7, y + 4, label, { class: "num", "text-anchor": "end" })
      );
    }),
  ];
  const bright = drawBrightest(light, test.sensor, place);
  const keyY = foot + 41;
  const key =
    drawCross(margin.left + 8, keyY - 4) +
    drawText(margin.left + 22, keyY, "brightest point, bars: 95 %", { class: "soft" }) +
    drawText(figureWidth - margin.right, keyY, "mm, as displayed", { class: "soft", "text-anchor": "end" });
  const id = makeFigureId("fig-light-map", test.id, testIndex);
  const title = tellMap(light);
  const of = channel === "L" ? "" : `, channel ${channel}`;
  const subtitle = `Light over the sensor in percent of the brightest, smooth map of ${light.flats} flats${of}, ${nameTest(test)}; contours every ${step} %${levels.includes(fullyLit) && step > 1 ? ", broken: 99 %" : ""}.`;
  const alternative = `Contour map of the light on the sensor of ${nameTrain(results)}, from ${low.toFixed(1)} to 100 percent. ${title}.`;
  const outline = drawElement("rect", {
    x: centre.x - half.x,
    y: centre.y - half.y,
    width: 2 * half.x,
    height: 2 * half.y,
    fill: "none",
    stroke: colours.ink,
    "stroke-width": 1,
  });
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      foot + margin.bottom - 12,
      [...lines, outline, ...ticks, bright, key].join(""),
    ),
    data: {
      columns: [
        { key: "x_mm", heading: "x, mm" },
        { key: "y_mm", heading: "y, mm" },
        { key: "light_percent", heading: "Light, %" },
      ],
      rows: listPoints(light, test.sensor),
    },
    chart: null,
  };
}

function listPoints({ map }: Light, sensor: Sensor): number[][] {
  return map.percent.map((percent, k) => [
    Number((((k % map.columns) / (map.columns - 1) - 0.5) * sensor.widthMm).toFixed(2)),
    Number(((Math.floor(k / map.columns) / (map.rows - 1) - 0.5) * sensor.heightMm).toFixed(2)),
    percent,
  ]);
}

function drawCross(x: number, y: number): string {
  const stroke = { stroke: colours.accent, "stroke-width": 1.6 };
  return drawLine(x - 5, y, x + 5, y, stroke) + drawLine(x, y - 5, x, y + 5, stroke);
}

function drawBrightest(
  light: Light,
  sensor: Sensor,
  place: (x: number, y: number) => [number, number],
): string {
  const { x, y } = light.centre;
  if (!isKnown(x) || !isKnown(y)) return "";
  const [px, py] = place(x.value, y.value);
  const bar = { stroke: colours.accent, "stroke-width": 0.9 };
  const within = (value: number, half: number) => Math.min(half, Math.max(-half, value));
  const [halfX, halfY] = [sensor.widthMm / 2, sensor.heightMm / 2];
  const [left, right] = [x.lo, x.hi].map((end) => place(within(end, halfX), y.value)[0]);
  const [top, bottom] = [y.hi, y.lo].map((end) => place(x.value, within(end, halfY))[1]);
  return drawCross(px, py) + drawLine(left, py, right, py, bar) + drawLine(px, top, px, bottom, bar);
}
