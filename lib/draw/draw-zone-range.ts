import type { TestResults, TrainResults } from "../report/results.ts";
import { drawWidthFootAxis, type PlotArea } from "./axes.ts";
import type { ChartSettings, DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing } from "./frame-figure.ts";
import { drawMark, pickColour, slots } from "./marks.ts";
import { colours } from "./palette.ts";
import { chooseRange, makeScale } from "./scale.ts";
import { drawLine, drawText } from "./svg.ts";
import { fitText } from "./text-width.ts";
import {
  findWorstCorner,
  isKnown,
  listStarTests,
  listUnitFactors,
  nameTest,
  nameTrain,
  separateZones,
  unitNames,
  widthUnits,
  zoneNames,
} from "./words.ts";

const id = "fig-zones";
const step = 9;

/** Newest tests that the figure compares, as many as there are marks, in order of date. */
function chooseTests(results: TrainResults): TestResults[] {
  return listStarTests(results).slice(-slots.length);
}

function tellZones(latest: TestResults): string {
  const worst = findWorstCorner(latest);
  if (worst === null) return "Star width by part of the field";
  const percent = Math.round(worst.widerPercent);
  const when = nameTest(latest);
  return worst.significant && percent >= 1
    ? `Widest on ${when}: the ${zoneNames[worst.corner]}, ${percent}\u00a0% above the centre`
    : `On ${when} no corner is measurably wider than the centre`;
}

function writeTable(results: TrainResults): DataTable {
  const columns = widthUnits.flatMap((unit) => [
    { key: `fwhm_${unit}`, heading: `FWHM, ${unitNames[unit]}` },
    { key: `fwhm_lo_${unit}`, heading: "95 % from" },
    { key: `fwhm_hi_${unit}`, heading: "to" },
  ]);
  const rows = listStarTests(results).flatMap((test) =>
    test.zones === null
      ? []
      : separateZones.map((zone) => [
          test.id,
          zoneNames[zone],
          test.zones![zone].stars,
          ...widthUnits.flatMap((unit) => {
            const width = test.zones![zone].fwhm[unit];
            return isKnown(width)
              ? [width.value, width.lo, width.hi].map((v) => Number(v.toPrecision(5)))
              : [null, null, null];
          }),
        ]),
  );
  return {
    columns: [
      { key: "test", heading: "Test" },
      { key: "zone", heading: "Zone" },
      { key: "stars", heading: "Stars" },
      ...columns,
    ],
    rows,
  };
}

/** More boxes than these nobody compares (chosen). */
const mostInChart = 12;

/** Every test, the newest first as in the picture; those that the picture has no mark for begin switched off. */
function makeChart(results: TrainResults, drawn: readonly TestResults[]): ChartSettings {
  const older = listStarTests(results)
    .filter((test) => !drawn.includes(test))
    .slice(-mostInChart);
  const tests = [...drawn, ...older];
  return {
    kind: "scatter",
    xTitle: "Zone",
    xLabels: separateZones.map((zone) => zoneNames[zone]),
    units: Object.fromEntries(
      widthUnits.map((unit) => [
        unit,
        {
          yTitle: `FWHM, ${unitNames[unit]}`,
          series: tests.map((test, k) => {
            const known = separateZones.flatMap((zone, at) => {
              const width = test.zones![zone].fwhm[unit];
              return isKnown(width) ? [{ at, width }] : [];
            });
            const round = (value: number) => Number(value.toPrecision(4));
            return {
              label: nameTest(test),
              slot: slots[k % slots.length],
              line: false,
              ...(k < drawn.length ? {} : { off: true as const }),
              points: known.map(({ at, width }): [number, number] => [at, round(width.value)]),
              intervals: known.map(({ width }): [number, number] => [round(width.lo), round(width.hi)]),
            };
          }),
        },
      ]),
    ),
  };
}

/**
 * Star width by zone with 95 % intervals, a mark for each of the newest tests (four at most; the table has all). Null
 * where no test has stars.
 */
export function drawZoneRange(results: TrainResults): Figure | null {
  const tests = chooseTests(results);
  const latest = tests.at(-1);
  if (latest === undefined) return null;
  const legendRows = Math.ceil(tests.length / 2);
  const rowHeight = 17 + step * tests.length;
  const area: PlotArea = { left: 96, right: figureWidth - 16, top: 12 + 21 * legendRows, bottom: 0 };
  area.bottom = area.top + rowHeight * separateZones.length;
  const ends = tests.flatMap((test) =>
    separateZones.flatMap((zone) => {
      const width = test.zones![zone].fwhm.um;
      return isKnown(width) ? [width.lo, width.hi] : [];
    }),
  );
  if (ends.length === 0) return null;
  const [low, high] = chooseRange(ends);
  const x = makeScale(low, high, area.left, area.right);

  const legend = tests.map((test, k) => {
    const at = { x: 14 + 232 * (k % 2), y: 16 + 21 * Math.floor(k / 2) };
    return (
      drawMark(slots[k], at.x, at.y - 4) +
      drawText(at.x + 12, at.y, fitText(nameTest(test), 200), { class: "num" })
    );
  });
  const rows = separateZones.map((zone, row) => {
    const top = area.top + row * rowHeight;
    const middle = top + rowHeight / 2;
    const marks = tests.map((test, k) => {
      const width = test.zones![zone].fwhm.um;
      if (!isKnown(width)) return "";
      const y = middle + (k - (tests.length - 1) / 2) * step;
      return (
        drawLine(x.place(width.lo), y, x.place(width.hi), y, {
          stroke: pickColour(slots[k]),
          "stroke-width": 1.6,
        }) + drawMark(slots[k], x.place(width.value), y)
      );
    });
    return (
      drawLine(area.left, top, area.right, top, { stroke: colours.rule, "stroke-width": 0.4 }) +
      drawText(area.left - 10, middle + 4, zoneNames[zone], { "text-anchor": "end" }) +
      marks.join("")
    );
  });
  const left = listStarTests(results).length - tests.length;
  const title = tellZones(latest);
  const subtitle = `Median full width at half maximum by zone, as measured, with 95\u00a0% intervals; the night’s seeing is in it.${left > 0 ? ` The ${tests.length} newest tests; ${left} older ${left === 1 ? "one is" : "ones are"} in the table.` : ""}`;
  const alternative = `Star widths of ${nameTrain(results)} in seven zones for ${tests.length} ${tests.length === 1 ? "test" : "tests"}. ${title}.`;
  return {
    id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      area.bottom + 44,
      ...legend,
      ...rows,
      drawWidthFootAxis(area, x, listUnitFactors(latest.scale), "FWHM"),
    ),
    data: writeTable(results),
    chart: makeChart(results, tests),
  };
}
