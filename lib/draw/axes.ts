import { colours } from "./palette.ts";
import type { Scale } from "./scale.ts";
import { listTicks } from "./scale.ts";
import { drawElement, drawLine, drawStrokes, drawText } from "./svg.ts";
import type { WidthUnit } from "./words.ts";
import { defaultUnit, unitNames, widthUnits } from "./words.ts";

/** The rectangle the data is drawn in, in the figure's units. */
export interface PlotArea {
  left: number;
  right: number;
  top: number;
  bottom: number;
}

const hairline = { stroke: colours.rule, "stroke-width": 0.8 };

/** Labels of ticks as one group, as all are set alike. */
export function drawTickLabels(
  labels: readonly { x: number; y: number; label: string }[],
  anchor: "middle" | "end",
): string {
  const texts = labels.map(({ x, y, label }) => drawText(x, y, label));
  return texts.length === 0 ? "" : drawElement("g", { class: "num", "text-anchor": anchor }, ...texts);
}

/** The horizontal axis at the foot of the plot: hairline, few ticks, title under it at the left. */
export function drawFootAxis(area: PlotArea, scale: Scale, title: string, mostTicks = 6): string {
  const { left, right, bottom } = area;
  const ticks = listTicks(scale.from, scale.to, mostTicks).map(({ value, label }) => ({
    x: scale.place(value),
    label,
  }));
  return drawElement(
    "g",
    { class: "axis" },
    drawStrokes(
      [
        { x1: left, y1: bottom, x2: right, y2: bottom },
        ...ticks.map(({ x }) => ({ x1: x, y1: bottom, x2: x, y2: bottom + 4 })),
      ],
      hairline,
    ),
    drawTickLabels(
      ticks.map(({ x, label }) => ({ x, y: bottom + 17, label })),
      "middle",
    ),
    drawText(left, bottom + 35, title, { class: "soft" }),
  );
}

/** The vertical axis at the left of the plot, its title above it. */
export function drawSideAxis(area: PlotArea, scale: Scale, title: string, mostTicks = 5): string {
  return drawElement(
    "g",
    { class: "axis" },
    drawSideLine(area),
    drawSideTicks(area, scale, title, mostTicks),
  );
}

function drawSideLine(area: PlotArea): string {
  return drawLine(area.left, area.top, area.left, area.bottom, hairline);
}

function drawSideTicks(area: PlotArea, scale: Scale, title: string, mostTicks: number): string {
  const { left, top } = area;
  const ticks = listTicks(scale.from, scale.to, mostTicks).map(({ value, label }) => ({
    y: scale.place(value),
    label,
  }));
  return [
    drawStrokes(
      ticks.map(({ y }) => ({ x1: left - 4, y1: y, x2: left, y2: y })),
      hairline,
    ),
    drawTickLabels(
      ticks.map(({ y, label }) => ({ x: left - 7, y: y + 4, label })),
      "end",
    ),
    drawText(4, top - 12, title, { class: "soft" }),
  ].join("");
}

/** Wraps what is true of one unit only; the default one shows, the page's script changes over. */
export function drawForUnit(unit: WidthUnit, content: string): string {
  return drawElement(
    "g",
    { "data-unit": unit, ...(unit === defaultUnit ? {} : { display: "none" }) },
    content,
  );
}

/** The same places read in a unit of which one of the scale's own makes `factor`. */
function readInUnit(scale: Scale, factor: number): Scale {
  return {
    from: scale.from * factor,
    to: scale.to * factor,
    place: (value) => scale.place(value / factor),
  };
}

/** A vertical axis of widths that can be read in px, um or arcsec; `scale` is in um, the places do not change. */
export function drawWidthAxis(
  area: PlotArea,
  scale: Scale,
  factors: Record<WidthUnit, number>,
  title: string,
): string {
  const groups = widthUnits.map((unit) => {
    const inUnit = readInUnit(scale, factors[unit]);
    return drawForUnit(unit, drawSideTicks(area, inUnit, `${title}, ${unitNames[unit]}`, 5));
  });
  return drawElement("g", { class: "axis" }, drawSideLine(area), ...groups);
}

/** The same for widths along the foot of the plot. */
export function drawWidthFootAxis(
  area: PlotArea,
  scale: Scale,
  factors: Record<WidthUnit, number>,
  title: string,
): string {
  const groups = widthUnits.map((unit) => {
    const inUnit = readInUnit(scale, factors[unit]);
    return drawForUnit(unit, drawFootAxis(area, inUnit, `${title}, ${unitNames[unit]}`));
  });
  return groups.join("");
}

/** The rule at zero of values that go both ways. */
export function drawZeroLine(area: PlotArea, scale: Scale): string {
  return drawLine(area.left, scale.place(0), area.right, scale.place(0), {
    stroke: colours.rule,
    "stroke-width": 0.8,
  });
}
