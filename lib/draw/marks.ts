import type { Corner } from "../report/results.ts";
import { colours } from "./palette.ts";
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

function traceMark(slot: Slot, x: number, y: number, size: number): string {
  const at = (dx: number, dy: number) => `${formatCoordinate(x + dx)} ${formatCoordinate(y + dy)}`;
  const s = size;
  if (slot === "series-1") {
    const r = formatCoordinate(s);
    return `M${at(-s, 0)}a${r} ${r} 0 1 0 ${formatCoordinate(2 * s)} 0a${r} ${r} 0 1 0 ${formatCoordinate(-2 * s)} 0Z`;
  }
  if (slot === "series-2") {
    const half = 0.88 * s;
    return `M${at(-half, -half)}L${at(half, -half)}L${at(half, half)}L${at(-half, half)}Z`;
  }
  if (slot === "series-3") return `M${at(0, -1.2 * s)}L${at(1.1 * s, 0.75 * s)}L${at(-1.1 * s, 0.75 * s)}Z`;
  return `M${at(0, -1.3 * s)}L${at(1.3 * s, 0)}L${at(0, 1.3 * s)}L${at(-1.3 * s, 0)}Z`;
}

/** The mark of a slot about a point, edged in the paper's colour so that it stands clear of lines under it. */
export function drawMark(slot: Slot, x: number, y: number, size = 3.4): string {
  return drawElement("path", {
    d: traceMark(slot, x, y, size),
    fill: pickColour(slot),
    stroke: colours.paper,
    "stroke-width": 0.8,
  });
}
