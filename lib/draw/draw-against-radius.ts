import type { TestResults, TrainResults } from "../report/results.ts";
import type { ChartSeries, ChartSettings, DataTable, Figure } from "./figure.ts";
import { frameDrawing, makeFigureId } from "./frame-figure.ts";
import { cornerSlots } from "./marks.ts";
import { drawRadiusPlot, radiusPlotHeight } from "./radius-plot.ts";
import { findMostDrawnOut } from "./shape-findings.ts";
import { listRadiiMm, type QuadrantRings, sortIntoRings } from "./star-rings.ts";
import {
  describeCoverage,
  findWorstCorner,
  isKnown,
  listUnitFactors,
  nameTest,
  nameTrain,
  unitNames,
  widthUnits,
  zoneNames,
} from "./words.ts";

function tellWidth(test: TestResults): string {
  const worst = findWorstCorner(test);
  if (worst === null) return "Star width across the field";
  const percent = Math.round(worst.widerPercent);
  return worst.significant && percent >= 1
    ? `Stars in the ${zoneNames[worst.corner]} are ${percent}\u00a0% wider than in the centre`
    : "No corner’s stars are measurably wider than the centre’s";
}

function tellRadial(test: TestResults): string {
  const most = findMostDrawnOut(test);
  if (most === null) return "Radial elongation stays near zero to the corners";
  const way = most.radial > 0 ? "along" : "across";
  return `Elongation ${way} the radius grows to ${Math.abs(most.radial).toFixed(2)} in the ${zoneNames[most.corner]}`;
}

function writeTable(test: TestResults, column: "fwhmUm" | "radial", quadrants: QuadrantRings[]): DataTable {
  const [key, heading] =
    column === "fwhmUm" ? ["fwhm_um", "FWHM, µm"] : ["radial_elongation", "Radial elongation"];
  const digits = column === "fwhmUm" ? 3 : 4;
  const profile = test.radialProfile;
  const round = (value: number) => Number(value.toFixed(digits));
  const whole = (profile?.rMm ?? []).map((rMm, k) => {
    const value = profile?.[column][k];
    const known = isKnown(value) ? value : null;
    return [
      "whole ring",
      Number(rMm.toFixed(2)),
      known && round(known.value),
      known && round(known.lo),
      known && round(known.hi),
      profile?.stars[k] ?? null,
    ];
  });
  const parts = quadrants.flatMap(({ corner, points }) =>
    points.map(({ rMm, value, stars }) => [
      zoneNames[corner],
      Number(rMm.toFixed(2)),
      round(value),
      null,
      null,
      stars,
    ]),
  );
  return {
    columns: [
      { key: "part", heading: "Part of the field" },
      { key: "radius_mm", heading: "Field radius, mm" },
      { key, heading: `${heading}, median` },
      { key: `${key}_lo`, heading: "95 % from" },
      { key: `${key}_hi`, heading: "to" },
      { key: "stars", heading: "Stars" },
    ],
    rows: [...whole, ...parts],
  };
}

/** Series of the live chart, in the numbers drawn: um, or the ratio of elongation. */
function listSeries(
  test: TestResults,
  column: "fwhmUm" | "radial",
  quadrants: QuadrantRings[],
): ChartSeries[] {
  const field = test.starField;
  // A hundredth of what a star's width is known to, in any unit.
  const round = (value: number) => Math.round(value * 10_000) / 10_000;
  const radii = field === null ? [] : listRadiiMm(field);
  const stars = (field?.[column] ?? []).map((value, k): [number, number] => [
    Math.round(radii[k] * 100) / 100,
    round(value),
  ]);
  const profile = test.radialProfile;
  const rings = (profile?.rMm ?? []).flatMap((rMm, k) => {
    const value = profile![column][k];
    return isKnown(value)
      ? [
          {
            point: [Number(rMm.toFixed(2)), round(value.value)] as [number, number],
            interval: [round(value.lo), round(value.hi)] as [number, number],
          },
        ]
      : [];
  });
  return [
    ...quadrants.map(({ corner, points }) => ({
      label: zoneNames[corner],
      slot: cornerSlots[corner],
      line: true,
      points: points.map(({ rMm, value }): [number, number] => [Number(rMm.toFixed(2)), round(value)]),
    })),
    {
      label: "whole ring",
      slot: "ink",
      line: false,
      points: rings.map(({ point }) => point),
      intervals: rings.map(({ interval }) => interval),
    },
    {
      label: "single stars",
      slot: "stars",
      line: false,
      points: stars.filter(([r, value]) => Number.isFinite(r) && Number.isFinite(value)),
    },
  ];
}

function drawAgainstRadius(
  results: TrainResults,
  testIndex: number,
  column: "fwhmUm" | "radial",
): Figure | null {
  const test = results.tests[testIndex];
  if (test.starField === null || test.starField.xMm.length === 0) return null;
  const isWidth = column === "fwhmUm";
  const quadrants = sortIntoRings(test, column);
  const { markup, beyond } = drawRadiusPlot({
    test,
    stars: test.starField[column],
    quadrants,
    rings: (test.radialProfile?.rMm ?? []).map((rMm, k) => ({ rMm, value: test.radialProfile![column][k] })),
    yTitle: isWidth ? "FWHM" : "Radial elongation: along (+), across (−)",
    isWidth,
  });
  const id = makeFigureId(isWidth ? "fig-width-radius" : "fig-radial-radius", test.id, testIndex);
  const title = isWidth ? tellWidth(test) : tellRadial(test);
  const measure = isWidth ? "Full width at half maximum" : "Component of elongation along the radius";
  const outside =
    beyond > 0 ? ` ${beyond} ${beyond === 1 ? "star lies" : "stars lie"} beyond the scale.` : "";
  const subtitle = `${measure} against field radius, ${nameTest(test)}; ${describeCoverage(test)}. Lines: medians by half-diagonal; bars: whole rings, 95\u00a0%.${outside}`;
  const alternative = `${measure} of the stars of ${nameTrain(results)} from the centre to the corner, with a line for each half-diagonal. ${title}.`;
  const factors = listUnitFactors(test.scale);
  const chart: ChartSettings = {
    kind: "scatter",
    xTitle: "Field radius, mm",
    units: isWidth
      ? Object.fromEntries(
          widthUnits.map((unit) => [
            unit,
            unit === "um"
              ? { yTitle: `FWHM, ${unitNames.um}`, series: listSeries(test, column, quadrants) }
              : { yTitle: `FWHM, ${unitNames[unit]}`, of: "um", factor: factors[unit] / factors.um },
          ]),
        )
      : { only: { yTitle: "Radial elongation", series: listSeries(test, column, quadrants) } },
  };
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing({ id, title, alternative }, radiusPlotHeight, markup),
    data: writeTable(test, column, quadrants),
    chart,
  };
}

/** Width of the stars against field radius by half-diagonal; null where no star was measured. */
export function drawWidthAgainstRadius(results: TrainResults, testIndex: number): Figure | null {
  return drawAgainstRadius(results, testIndex, "fwhmUm");
}

/** Elongation along the radius against field radius by half-diagonal; null where no star was measured. */
export function drawRadialAgainstRadius(results: TrainResults, testIndex: number): Figure | null {
  return drawAgainstRadius(results, testIndex, "radial");
}
