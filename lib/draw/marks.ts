import type { Corner } from "../report/results.ts";
import { colours } from "./palette.ts";
import { roundTenths } from "./path-steps.ts";
import { drawElement, formatCoordinate } from "./svg.ts";

/** The four slots of marks: a colour, a shape and a line pattern each, so that colour never tells alone. */
export const slots = ["series-1", "series-2", "series-3", "series-4"] as const;
export type Slot = (typeof slots)[number];

/** Pattern of a slot's line, in the figure's units; an empty one is a full line. */
export const dashes: Record<Slot, string> = {
  "series-1": "",
  "series-2": "7 3",
  "series-3": "2 2.5",
  "series-4": "8 2.5 2 2.5",
};

/** Slot of a half-diagonal, the same in every figure. */
export const cornerSlots: Record<Corner, Slot> = {
  upperLeft: "series-1",
  upperRight: "series-2",
  lowerLeft: "series-3",
  lowerRight: "series-4",
};

export function pickColour(slot: Slot): string {
  return colours.series[slots.indexOf(slot)];
}

/** A mark as path data: where it stands, then its outline in steps, which are the same for every mark of a slot and size. */
function traceMark(slot: Slot, x: number, y: number, size: number): string {
  const from = (dx: number, dy: number) =>
    `M${formatCoordinate(roundTenths(x + dx) / 10)} ${formatCoordinate(roundTenths(y + dy) / 10)}`;
  const [s, f] = [size, formatCoordinate];
  if (slot === "series-1") {
    const r = f(s);
    return `${from(-s, 0)}a${r} ${r} 0 1 0 ${f(2 * s)} 0a${r} ${r} 0 1 0 ${f(-2 * s)} 0Z`;
  }
  if (slot === "series-2") {
    const half = 0.88 * s;
    return `${from(-half, -half)}h${f(2 * half)}v${f(2 * half)}h${f(-2 * half)}Z`;
  }
  if (slot === "series-3") return `${from(0, -1.2 * s)}l${f(1.1 * s)} ${f(1.95 * s)}h${f(-2.2 * s)}Z`;
  const d = f(1.3 * s);
  return `${from(0, -1.3 * s)}l${d} ${d}-${d} ${d}-${d}-${d}Z`;
}

/** Marks of a slot about points, edged in the paper's colour so that they stand clear of lines under them. */
export function drawMarks(slot: Slot, points: readonly (readonly [number, number])[], size = 3.4): string {
  return drawElement("path", {
    d: points.map(([x, y]) => traceMark(slot, x, y, size)).join(""),
    fill: pickColour(slot),
    stroke: colours.paper,
    "stroke-width": 0.8,
  });
}

/** The mark of a slot about a point. */
export function drawMark(slot: Slot, x: number, y: number, size = 3.4): string {
  return drawMarks(slot, [[x, y]], size);
}
