import type { TestResults, TrainResults } from "../report/results.ts";
import { drawContours } from "./draw-contours.ts";
import type { Figure } from "./figure.ts";
import { frameDrawing, makeFigureId } from "./frame-figure.ts";
import { type Light, pickLight } from "./light-words.ts";
import { colours } from "./palette.ts";
import { chooseStep } from "./scale.ts";
import { drawPlanFrame, drawPlanKey, laySensorPlan, type SensorPlan } from "./sensor-plan.ts";
import { drawLine } from "./svg.ts";
import { corners, isKnown, nameTest, nameTrain, zoneNames } from "./words.ts";

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
  const plan = laySensorPlan(test.sensor, 400);
  if (picked === null || plan === null) return null;
  const { light, channel } = picked;
  const read = makeReader(light, test.sensor);
  const low = Math.min(...light.map.percent);
  const step = Math.max(0.1, chooseStep(100 - low, mostLevels));
  const levels: number[] = [];
  for (let level = 100 - step; level > low; level -= step) levels.push(Number(level.toFixed(6)));
  // The edge of the fully lit field, broken, where the other lines lie further apart.
  if (low < fullyLit && step > 1) levels.push(fullyLit);
  const decimals = step < 1 ? 1 : 0;
  const lines = drawContours(plan, read, levels, (level) => ({
    label: level.toFixed(decimals),
    broken: level === fullyLit,
  }));
  const bright = drawBrightest(light, plan);
  const key = drawPlanKey(plan, {
    mark: drawCross(8, 0),
    markWidth: 15,
    words: "brightest point, bars: 95 %",
  });
  const id = makeFigureId("fig-light-map", test.id, testIndex);
  const title = tellMap(light);
  const of = channel === "L" ? "" : `, channel ${channel}`;
  const subtitle = `Light over the sensor in percent of the brightest, smooth map of ${light.flats} flats${of}, ${nameTest(test)}; contours every ${step} %${levels.includes(fullyLit) && step > 1 ? ", broken: 99 %" : ""}.`;
  const alternative = `Contour map of the light on the sensor of ${nameTrain(results)}, from ${low.toFixed(1)} to 100 percent. ${title}.`;
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      key.bottom,
      lines,
      drawPlanFrame(plan),
      bright,
      key.drawing,
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

function drawBrightest(light: Light, plan: SensorPlan): string {
  const { x, y } = light.centre;
  if (!isKnown(x) || !isKnown(y)) return "";
  const [px, py] = plan.place(x.value, y.value);
  const bar = { stroke: colours.accent, "stroke-width": 0.9 };
  const within = (value: number, half: number) => Math.min(half, Math.max(-half, value));
  const [halfX, halfY] = [plan.widthMm / 2, plan.heightMm / 2];
  const [left, right] = [x.lo, x.hi].map((end) => plan.place(within(end, halfX), y.value)[0]);
  const [top, bottom] = [y.hi, y.lo].map((end) => plan.place(x.value, within(end, halfY))[1]);
  return drawCross(px, py) + drawLine(left, py, right, py, bar) + drawLine(px, top, px, bottom, bar);
}
