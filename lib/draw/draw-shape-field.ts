import type { TrainResults } from "../report/results.ts";
import type { DataTable, Figure } from "./figure.ts";
import { frameDrawing, makeFigureId } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import { drawPlanFrame, drawPlanKey, laySensorPlan } from "./sensor-plan.ts";
import { tellShapes } from "./shape-findings.ts";
import type { StarLine } from "./star-lines.ts";
import { layStarLine, listStarLines } from "./star-lines.ts";
import { drawLine, drawStrokes } from "./svg.ts";
import { describeCoverage, nameTest, nameTrain } from "./words.ts";

/** Lengths of a line per unit of ellipticity that a shape field may have, and the ellipticity its key shows. */
export const lineScales = [
  { unitsPerEllipticity: 40, keyEllipticity: 0.2 },
  { unitsPerEllipticity: 100, keyEllipticity: 0.1 },
  { unitsPerEllipticity: 200, keyEllipticity: 0.05 },
] as const;

/** Longest line wanted for all but the longest tenth: the distance of two cells' middles. */
const longestUsual = 20;

/**
 * The largest scale at which lines do not run into each other in any test of the train: the same in all its shape
 * fields, so that they can be laid side by side.
 */
export function chooseLineScale(results: TrainResults): (typeof lineScales)[number] {
  let most = 0;
  for (const test of results.tests) {
    if (test.starField === null) continue;
    const sorted = listStarLines(test.starField, test.sensor)
      .map((line) => line.ellipticity)
      .sort((a, b) => a - b);
    most = Math.max(most, sorted[Math.floor(0.9 * sorted.length)] ?? 0);
  }
  return (
    lineScales.findLast(({ unitsPerEllipticity }) => most * unitsPerEllipticity <= longestUsual) ??
    lineScales[0]
  );
}

function writeTable(lines: readonly StarLine[]): DataTable {
  return {
    columns: [
      { key: "x_mm", heading: "x, mm" },
      { key: "y_mm", heading: "y, mm" },
      { key: "ellipticity", heading: "Ellipticity" },
      { key: "long_axis_deg", heading: "Long axis, degrees from +x" },
      { key: "stars", heading: "Stars" },
    ],
    rows: lines.map((line) => [
      Number(line.xMm.toFixed(3)),
      Number(line.yMm.toFixed(3)),
      Number(line.ellipticity.toFixed(4)),
      Number(line.angleDeg.toFixed(1)),
      line.stars,
    ]),
  };
}

/**
 * Shape field of a test: each star, or the mean of each cell where there are many, as a short line along its long axis
 * on the sensor's outline in mm as displayed. Null where no star was measured.
 */
export function drawShapeField(results: TrainResults, testIndex: number): Figure | null {
  const test = results.tests[testIndex];
  const plan = laySensorPlan(test.sensor, 420);
  if (test.starField === null || plan === null) return null;
  const lines = listStarLines(test.starField, test.sensor);
  if (lines.length === 0) return null;

  const { unitsPerEllipticity, keyEllipticity } = chooseLineScale(results);
  const { centre, half } = plan;

  const marks = lines.map((line) => layStarLine(line, centre, plan.unitsPerMm, unitsPerEllipticity));
  const diagonals = [-1, 1].flatMap((sx) =>
    [-1, 1].map((sy) =>
      drawLine(centre.x, centre.y, centre.x + sx * half.x, centre.y + sy * half.y, {
        stroke: colours.rule,
        "stroke-width": 0.6,
        "stroke-dasharray": "1 4",
      }),
    ),
  );
  const keyLength = keyEllipticity * unitsPerEllipticity;
  const key = drawPlanKey(plan, {
    mark: drawLine(0, 0, keyLength, 0, { stroke: colours.ink, "stroke-width": 1.3 }),
    markWidth: keyLength,
    words: `ellipticity ${keyEllipticity}`,
  });
  const id = makeFigureId("fig-shape-field", test.id, testIndex);
  const title = tellShapes(test);
  const cells = lines.some((line) => line.stars > 1);
  const subtitle = `${cells ? "Mean long axes in cells" : "Long axis of each star"} on the sensor, ${nameTest(test)}; length shows ellipticity; ${describeCoverage(test)}.`;
  const alternative = `Map of the sensor of ${nameTrain(results)}, ${plan.widthMm.toFixed(1)} by ${plan.heightMm.toFixed(1)} mm, with ${lines.length} short lines that show the direction and amount by which stars are drawn out. ${title}.`;
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      key.bottom,
      drawPlanFrame(plan),
      ...diagonals,
      drawStrokes(marks, {
        class: "stars",
        stroke: colours.ink,
        "stroke-width": 1.3,
        "stroke-linecap": "round",
      }),
      key.drawing,
    ),
    data: writeTable(lines),
    chart: null,
  };
}
