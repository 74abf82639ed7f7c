import type { TestResults } from "../report/results.ts";
import { drawTickLabels } from "./axes.ts";
import { figureWidth } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import { listTicks } from "./scale.ts";
import { drawElement, drawStrokes, drawText } from "./svg.ts";
import { estimateTextWidth } from "./text-width.ts";

const margin = { left: 40, right: 14, top: 16 };
const hairline = { stroke: colours.rule, "stroke-width": 0.8 };
const rowHeight = 20;
/** From the foot of the plan to the first line of its key, below the ticks. */
const keyBelow = 41;

/** The sensor seen from the front, to scale in the middle of the figure; x to the right and y up, as displayed. */
export interface SensorPlan {
  widthMm: number;
  heightMm: number;
  unitsPerMm: number;
  centre: { x: number; y: number };
  /** Half the plan's width and height, in the figure's units. */
  half: { x: number; y: number };
  /** The plan's lower edge, in the figure's units. */
  foot: number;
  /** From mm off the sensor's centre to the figure's units. */
  place: (xMm: number, yMm: number) => [number, number];
}

/** Lays out the plan as large as the figure's width and `mostHeight` allow; null for a sensor without a size. */
export function laySensorPlan(sensor: TestResults["sensor"], mostHeight: number): SensorPlan | null {
  const { widthMm, heightMm } = sensor;
  if (!(widthMm > 0) || !(heightMm > 0)) return null;
  const room = figureWidth - margin.left - margin.right;
  const unitsPerMm = Math.min(room / widthMm, mostHeight / heightMm);
  const half = { x: (widthMm / 2) * unitsPerMm, y: (heightMm / 2) * unitsPerMm };
  const centre = { x: margin.left + room / 2, y: margin.top + half.y };
  return {
    widthMm,
    heightMm,
    unitsPerMm,
    centre,
    half,
    foot: centre.y + half.y,
    place: (xMm, yMm) => [centre.x + xMm * unitsPerMm, centre.y - yMm * unitsPerMm],
  };
}

/** The sensor's edge and the ticks in mm below and at the left of it. */
export function drawPlanFrame(plan: SensorPlan): string {
  const { centre, half, foot, widthMm, heightMm, place } = plan;
  const left = centre.x - half.x;
  const edge = drawElement("rect", {
    x: left,
    y: centre.y - half.y,
    width: 2 * half.x,
    height: 2 * half.y,
    fill: "none",
    ...hairline,
  });
  const below = listTicks(-widthMm / 2, widthMm / 2, 6).map(({ value, label }) => ({
    x: place(value, 0)[0],
    label,
  }));
  const beside = listTicks(-heightMm / 2, heightMm / 2, 6).map(({ value, label }) => ({
    y: place(0, value)[1],
    label,
  }));
  return [
    edge,
    drawStrokes(
      [
        ...below.map(({ x }) => ({ x1: x, y1: foot, x2: x, y2: foot + 4 })),
        ...beside.map(({ y }) => ({ x1: left - 4, y1: y, x2: left, y2: y })),
      ],
      hairline,
    ),
    drawTickLabels(
      below.map(({ x, label }) => ({ x, y: foot + 18, label })),
      "middle",
    ),
    drawTickLabels(
      beside.map(({ y, label }) => ({ x: left - 7, y: y + 4, label })),
      "end",
    ),
  ].join("");
}

/** What a mark of the plan means: the mark itself about (0, 0), how far it reaches to the right, and its words. */
export interface PlanKey {
  mark: string;
  markWidth: number;
  words: string;
}

/**
 * The line under the plan: the key at the left, what the ticks count at the right, on a line of its own where both do
 * not fit at the size of letters that a phone shows.
 */
export function drawPlanKey(plan: SensorPlan, key: PlanKey): { drawing: string; bottom: number } {
  const ticksCount = "mm from the centre, as displayed";
  const wordsLeft = margin.left + key.markWidth + 7;
  const right = figureWidth - margin.right;
  const y = plan.foot + keyBelow;
  const fits = wordsLeft + estimateTextWidth(key.words) + 14 + estimateTextWidth(ticksCount) <= right;
  const countY = fits ? y : y + rowHeight;
  return {
    drawing:
      drawElement("g", { transform: `translate(${margin.left} ${(y - 4).toFixed(2)})` }, key.mark) +
      drawText(wordsLeft, y, key.words, { class: "soft" }) +
      drawText(fits ? right : margin.left, countY, ticksCount, {
        class: "soft",
        ...(fits ? { "text-anchor": "end" } : {}),
      }),
    bottom: countY + 13,
  };
}
