import { stateRemainder } from "../maths/state-quantity.ts";
import type { TestResults } from "../report/results.ts";
import { figureWidth } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import { formatSigned } from "./scale.ts";
import { drawElement, drawLine, drawText, tracePath } from "./svg.ts";
import { isKnown } from "./words.ts";

type Moves = NonNullable<TestResults["moves"]>;

/** A place of the plan: a screw, or where a shim goes. */
export interface Screw {
  number: number;
  angleDeg: number;
  xMm: number;
  yMm: number;
  moveUm: number;
  lo: number;
  hi: number;
  turns: number;
  setTurns: number;
}

const plan = { x: 122, y: 128, reach: 92 };

/** Screws or places of shims over the sensor's outline, and how far down that reaches. */
export function drawPlan(screws: readonly Screw[], test: TestResults): { drawing: string; bottom: number } {
  const { widthMm, heightMm } = test.sensor;
  const widest = Math.max(
    Math.hypot(widthMm, heightMm) / 2,
    ...screws.map(({ xMm, yMm }) => Math.hypot(xMm, yMm)),
  );
  const scale = plan.reach / widest;
  const hairline = { stroke: colours.rule, "stroke-width": 0.8, fill: "none" };
  const sensor = drawElement("rect", {
    x: plan.x - (widthMm / 2) * scale,
    y: plan.y - (heightMm / 2) * scale,
    width: widthMm * scale,
    height: heightMm * scale,
    ...hairline,
    stroke: colours.ink,
  });
  const cross =
    drawLine(plan.x - 7, plan.y, plan.x + 7, plan.y, hairline) +
    drawLine(plan.x, plan.y - 7, plan.x, plan.y + 7, hairline);
  const marks = screws.map((screw) => {
    const [x, y] = [plan.x + screw.xMm * scale, plan.y - screw.yMm * scale];
    const away = screw.moveUm > 0;
    return (
      drawElement("rect", {
        x: x - 10,
        y: y - 10,
        width: 20,
        height: 20,
        fill: away ? colours.ink : colours.paper,
        stroke: colours.ink,
        "stroke-width": 1.4,
      }) +
      drawText(x, y + 4.5, String(screw.number), {
        class: "num strong",
        "text-anchor": "middle",
        fill: away ? colours.paper : colours.ink,
      })
    );
  });
  const bottom = Math.max(
    plan.y + (heightMm / 2) * scale,
    ...screws.map(({ yMm }) => plan.y - yMm * scale + 10),
  );
  const caption = drawText(plan.x, bottom + 22, "plan, as the frame is displayed", {
    class: "soft",
    "text-anchor": "middle",
  });
  return { drawing: sensor + cross + marks.join("") + caption, bottom: bottom + 42 };
}

const elevation = { left: 40, right: figureWidth - 40, reach: 34 };

/** Cut along the direction of the tilt: the plate as it is, and as the moves leave it, heights stretched. */
export function drawElevation(
  test: TestResults,
  moves: Moves,
  top: number,
): { drawing: string; bottom: number } {
  const source = moves.from === "sweep" ? test.sweep : test.field;
  if (!isKnown(source?.tiltAcross) || !isKnown(source?.tiltDirection)) return { drawing: "", bottom: top };
  const level = top + elevation.reach + 48;
  const half = source.tiltAcross.value / 2;
  const rest = isKnown(moves.remainingTilt) ? moves.remainingTilt.value / 2 : 0;
  const scale = elevation.reach / Math.max(half, 1);
  const line = (rise: number, attributes: Record<string, string | number>) =>
    drawElement("path", {
      d: tracePath([
        [elevation.left, level + rise * scale],
        [elevation.right, level - rise * scale],
      ]),
      fill: "none",
      ...attributes,
    });
  const angle = formatSigned(source.tiltDirection.value, 0);
  const drawing =
    line(half, { stroke: colours.accent, "stroke-width": 1.6 }) +
    line(0, { stroke: colours.ink, "stroke-width": 1.6 }) +
    line(half - rest, { stroke: colours.ink, "stroke-width": 1, "stroke-dasharray": "5 3" }) +
    drawText(
      elevation.left,
      level - elevation.reach - 32,
      `cut along ${angle}°, heights stretched; telescope above`,
      {
        class: "soft",
      },
    ) +
    drawText(elevation.right, level - elevation.reach - 6, `focus, ${(2 * half).toFixed(0)} µm across`, {
      "text-anchor": "end",
      fill: colours.accent,
    }) +
    drawText(elevation.right, level + 16, "sensor now", { "text-anchor": "end" }) +
    drawText(
      elevation.left,
      level + elevation.reach + 28,
      `broken: sensor after the moves, ${stateRemainder(2 * rest).replace("um", "µm")} left`,
      {
        class: "soft",
      },
    );
  return { drawing, bottom: level + elevation.reach + 38 };
}
