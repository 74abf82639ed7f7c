import type { Quantity } from "../maths/quantity.ts";
import { quantileOfSorted, sortFinite } from "../maths/statistics.ts";
import type { TestResults } from "../report/results.ts";
import { drawFootAxis, drawSideAxis, drawWidthAxis, drawZeroLine, type PlotArea } from "./axes.ts";
import { figureWidth } from "./frame-figure.ts";
import { cornerSlots, dashes, drawMarks, pickColour } from "./marks.ts";
import { colours } from "./palette.ts";
import { dotWidth, traceDots } from "./path-steps.ts";
import { chooseRange, makeScale } from "./scale.ts";
import { listRadiiMm, type QuadrantRings } from "./star-rings.ts";
import { drawElement, drawLine, drawStrokes, drawText, tracePath } from "./svg.ts";
import { spreadLabels } from "./text-width.ts";
import { isKnown, listUnitFactors, zoneNames } from "./words.ts";

const area: PlotArea = { left: 46, right: figureWidth - 92, top: 34, bottom: 268 };
export const radiusPlotHeight = 312;

export interface RadiusPlot {
  test: TestResults;
  /** Values of the stars listed, in the order of `starField`. */
  stars: readonly number[];
  quadrants: QuadrantRings[];
  /** Medians of whole rings with their intervals. */
  rings: { rMm: number; value: Quantity }[];
  yTitle: string;
  /** Widths may be read in three units; the rest have none. */
  isWidth: boolean;
}

/**
 * Values against field radius: every star as a faint dot, the whole rings' medians with 95 % bars in ink, and each
 * half-diagonal's medians as a line with marks of its own, named at its end. Returns the markup and how many stars lie
 * beyond the scale, which is set by all but the outermost stars.
 */
export function drawRadiusPlot(plot: RadiusPlot): { markup: string; beyond: number } {
  const { test } = plot;
  const field = test.starField;
  const halfDiagonalMm = Math.hypot(test.sensor.widthMm, test.sensor.heightMm) / 2;
  const sorted = sortFinite(plot.stars);
  const known = plot.rings.filter(({ value }) => isKnown(value));
  const [low, high] = chooseRange([
    ...(sorted.length > 0 ? [0.005, 0.995].map((q) => quantileOfSorted(sorted, q)) : []),
    ...plot.quadrants.flatMap(({ points }) => points.map(({ value }) => value)),
    ...known.flatMap(({ value }) => (isKnown(value) ? [value.lo, value.hi] : [])),
    ...(plot.isWidth ? [] : [0]),
  ]);
  const x = makeScale(0, halfDiagonalMm, area.left, area.right);
  const y = makeScale(low, high, area.bottom, area.top);

  let beyond = 0;
  const shown: [number, number][] = [];
  const radii = field === null ? [] : listRadiiMm(field);
  for (let k = 0; k < radii.length; k++) {
    const value = plot.stars[k];
    const r = radii[k];
    if (!Number.isFinite(value) || !Number.isFinite(r)) continue;
    if (value < low || value > high) beyond++;
    else shown.push([x.place(r), y.place(value)]);
  }

  const rings = known.flatMap(({ rMm, value }) => (isKnown(value) ? [{ at: x.place(rMm), value }] : []));
  const bars = [
    drawStrokes(
      rings.map(({ at, value }) => ({ x1: at, y1: y.place(value.lo), x2: at, y2: y.place(value.hi) })),
      { stroke: colours.ink, "stroke-width": 1 },
    ),
    drawStrokes(
      rings
        .map(({ at, value }) => [at, y.place(value.value)])
        .map(([at, level]) => ({ x1: at - 4, y1: level, x2: at + 4, y2: level })),
      { stroke: colours.ink, "stroke-width": 1.8 },
    ),
  ];

  const drawn = plot.quadrants.filter(({ points }) => points.length > 0);
  const ends = drawn.map(({ points }) => y.place(points[points.length - 1].value));
  const labelY = spreadLabels(ends, 16, area.top, area.bottom);
  const lines = drawn.map(({ corner, points }, k) => {
    const slot = cornerSlots[corner];
    const path = points.map(({ rMm, value }) => [x.place(rMm), y.place(value)] as const);
    const last = path[path.length - 1];
    const from = area.right + 6;
    const stroke = { stroke: pickColour(slot), fill: "none" };
    return (
      drawElement("path", {
        d: tracePath(path),
        ...stroke,
        "stroke-width": 1.5,
        "stroke-dasharray": dashes[slot] || undefined,
      }) +
      drawMarks(slot, path) +
      drawLine(last[0] + 5, last[1], from, labelY[k], { ...stroke, "stroke-width": 0.6 }) +
      drawText(from + 4, labelY[k] + 4, zoneNames[corner])
    );
  });

  const zero = !plot.isWidth && low < 0 && high > 0 ? drawZeroLine(area, y) : "";
  const sideAxis = plot.isWidth
    ? drawWidthAxis(area, y, listUnitFactors(test.scale), plot.yTitle)
    : drawSideAxis(area, y, plot.yTitle);
  return {
    beyond,
    markup: [
      drawElement("path", {
        d: traceDots(shown) || "M0 0",
        stroke: colours.rule,
        "stroke-width": dotWidth,
        "stroke-linecap": "round",
        "stroke-opacity": 0.55,
        fill: "none",
      }),
      zero,
      ...lines,
      ...bars,
      sideAxis,
      drawFootAxis(area, x, "Field radius, mm"),
    ].join(""),
  };
}
