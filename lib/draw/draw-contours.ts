import { traceContours } from "./contour-lines.ts";
import { colours } from "./palette.ts";
import { thinRun } from "./path-steps.ts";
import type { SensorPlan } from "./sensor-plan.ts";
import { drawElement, drawText, tracePath } from "./svg.ts";

/** Shortest run of points that is drawn: shorter ones are corners of the tracing mesh. */
const fewestPoints = 4;
/** Room that a level of five characters takes at the size of letters a phone shows, in the figure's units. */
const labelRoom = { x: 44, y: 17 };

/** How one level is drawn and named. */
export interface ContourStyle {
  label: string;
  strong?: boolean;
  broken?: boolean;
}

/** Contours of a surface over the sensor, each with its level on it where there is room beside edge and other levels. */
export function drawContours(
  plan: SensorPlan,
  surface: (xMm: number, yMm: number) => number,
  levels: readonly number[],
  style: (level: number) => ContourStyle,
): string {
  const { widthMm, heightMm, centre, half, place } = plan;
  const box = { left: -widthMm / 2, right: widthMm / 2, bottom: -heightMm / 2, top: heightMm / 2 };
  const written: [number, number][] = [];
  const isFree = (x: number, y: number) =>
    Math.abs(x - centre.x) < half.x - 16 &&
    Math.abs(y - centre.y) < half.y - 8 &&
    written.every(([ax, ay]) => Math.abs(x - ax) > labelRoom.x || Math.abs(y - ay) > labelRoom.y);
  return traceContours(surface, box, [...levels])
    .flatMap(({ level, runs }) => {
      const { label, strong, broken } = style(level);
      return runs
        .filter((run) => run.length >= fewestPoints)
        .map((run) => {
          const line = drawElement("path", {
            d: tracePath(thinRun(run.map(([x, y]) => place(x, y)))),
            fill: "none",
            stroke: colours.ink,
            "stroke-width": strong ? 1.8 : 0.9,
            "stroke-dasharray": broken ? "5 3" : undefined,
          });
          const [x, y] = place(...run[run.length >> 1]);
          if (!isFree(x, y)) return line;
          written.push([x, y]);
          const halo = { stroke: colours.paper, "stroke-width": 4, "paint-order": "stroke" };
          return line + drawText(x, y + 4, label, { class: "num", "text-anchor": "middle", ...halo });
        });
    })
    .join("");
}
