import type { TestResults, TrainResults } from "../report/results.ts";
import { traceDepthBand } from "./depth-band.ts";
import { drawContours } from "./draw-contours.ts";
import type { DataTable, Figure } from "./figure.ts";
import { frameDrawing, makeFigureId } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import { type ReliefSurface, readReliefSurface } from "./relief-surface.ts";
import { chooseStep, formatSigned } from "./scale.ts";
import { drawPlanFrame, drawPlanKey, laySensorPlan } from "./sensor-plan.ts";
import { drawElement } from "./svg.ts";
import { corners, isKnown, nameTest, nameTrain, zoneNames } from "./words.ts";

const mostLevels = 9;
const bandFill = { fill: colours.accent, "fill-opacity": 0.18 };

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
  const plan = laySensorPlan(test.sensor, 400);
  if (surface === null || plan === null) return null;
  const depth = results.sampling.depthOfFocus;
  const depthUm = isKnown(depth) ? depth.value : 0;
  const heights = [
    ...listCornerHeights(surface, test.sensor).map(({ height }) => height),
    surface.height(0, 0),
    0,
  ];
  const [low, high] = [Math.min(...heights), Math.max(...heights)];
  const step = chooseStep(high - low, mostLevels);
  const levels: number[] = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9; k++) levels.push(k * step);
  const decimals = step < 1 ? 1 : 0;
  const lines = drawContours(plan, surface.height, levels, (level) => ({
    label: formatSigned(level, decimals),
    strong: level === 0,
    broken: level < 0,
  }));
  const key = drawPlanKey(plan, {
    mark: drawElement("rect", { y: -6, width: 22, height: 12, ...bandFill }),
    markWidth: 22,
    words: `within ±${depthUm.toFixed(0)} µm: the depth of focus`,
  });
  const id = makeFigureId("fig-relief", test.id, testIndex);
  const title = tellRelief(surface, test.sensor, depthUm);
  const where =
    surface.from === "sweep"
      ? "from the focus sweep, the sensor at the best common focus"
      : "from the field model of the frames, at their focus";
  const subtitle = `Height of the focal surface over the sensor in micrometres, ${where}, ${nameTest(test)}; full lines: towards the telescope, broken lines: behind the sensor.`;
  const alternative = `Contour map of the focal surface of ${nameTrain(results)} on the sensor, heights from ${formatSigned(low, 0)} to ${formatSigned(high, 0)} µm. ${title}.`;
  const band = drawElement("path", {
    d: traceDepthBand(surface, test.sensor, depthUm, plan.place) || "M0 0",
    ...bandFill,
  });
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing({ id, title, alternative }, key.bottom, band, lines, drawPlanFrame(plan), key.drawing),
    data: writeTable(surface, test),
    chart: null,
  };
}
