import { formatTurns } from "../maths/format-turns.ts";
import { nameSide } from "../maths/name-side.ts";
import { stateRemainder } from "../maths/state-quantity.ts";
import type { TestResults, TrainResults } from "../report/results.ts";
import type { DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import { formatSigned } from "./scale.ts";
import { drawElement, drawLine, drawText, tracePath } from "./svg.ts";
import { isKnown, nameTest, nameTrain } from "./words.ts";

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

function listScrews(results: TrainResults, moves: Moves): Screw[] {
  const adjuster = (results.train as { adjuster?: { screws?: { angleDeg: number; radiusMm: number }[] } })
    .adjuster;
  return moves.screws.flatMap((screw, k) => {
    const radiusMm = adjuster?.screws?.[k]?.radiusMm;
    if (!isKnown(screw.move) || !isKnown(screw.turns) || radiusMm === undefined) return [];
    const angle = (screw.angleDeg * Math.PI) / 180;
    return [
      {
        number: k + 1,
        angleDeg: screw.angleDeg,
        xMm: radiusMm * Math.cos(angle),
        yMm: radiusMm * Math.sin(angle),
        moveUm: screw.move.value,
        lo: screw.move.lo,
        hi: screw.move.hi,
        turns: screw.turns.value,
        setTurns: screw.setTurns ?? screw.turns.value,
      },
    ];
  });
}

/** What the hand does to a screw: "open 1/12 turn", "close 1 1/4 turns", "leave". */
function nameSetting(setTurns: number): string {
  const turns = formatTurns(setTurns);
  return turns === null ? "leave" : `${setTurns > 0 ? "open" : "close"} ${turns}`;
}

function writeTable(screws: readonly Screw[]): DataTable {
  const round = (value: number, digits: number) => Number(value.toFixed(digits));
  return {
    columns: [
      { key: "screw", heading: "Screw" },
      { key: "angle_deg", heading: "At, degrees from +x as displayed" },
      { key: "move_um", heading: "Move, µm (+ away from the telescope)" },
      { key: "move_lo_um", heading: "95 % from" },
      { key: "move_hi_um", heading: "to" },
      { key: "turns", heading: "Turns" },
      { key: "set_turns", heading: "Turns to set, to 15 degrees" },
    ],
    rows: screws.map((screw) => [
      screw.number,
      round(screw.angleDeg, 1),
      round(screw.moveUm, 1),
      round(screw.lo, 1),
      round(screw.hi, 1),
      round(screw.turns, 3),
      round(screw.setTurns, 4),
    ]),
  };
}

const plan = { x: 122, y: 128, reach: 92 };

export function drawPlan(screws: readonly Screw[], test: TestResults): string {
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
  const caption = drawText(plan.x, plan.y + plan.reach + 24, "plan, as the frame is displayed", {
    class: "soft",
    "text-anchor": "middle",
  });
  return sensor + cross + marks.join("") + caption;
}

const listLeft = 230;

function drawList(screws: readonly Screw[], advised: boolean): string {
  const head =
    drawText(listLeft, 34, "Screw", { class: "soft" }) +
    drawText(listLeft + 130, 34, "µm", { class: "soft", "text-anchor": "end" }) +
    drawText(listLeft + 142, 34, advised ? "set" : "would be set", { class: "soft" }) +
    drawLine(listLeft, 41, figureWidth - 12, 41, { stroke: colours.rule, "stroke-width": 0.8 });
  const step = Math.min(26, 150 / Math.max(1, screws.length));
  const rows = screws.slice(0, 8).map((screw, k) => {
    const y = 60 + k * step;
    const sign = screw.moveUm > 0 ? "+" : "";
    return (
      drawText(listLeft, y, `${screw.number}  at ${formatSigned(screw.angleDeg, 0)}°`, { class: "num" }) +
      drawText(listLeft + 130, y, `${sign}${formatSigned(screw.moveUm, 0)}`, {
        class: "num strong",
        "text-anchor": "end",
      }) +
      drawText(listLeft + 142, y, nameSetting(screw.setTurns), { class: "num" })
    );
  });
  return head + rows.join("");
}

const elevation = { left: 40, right: figureWidth - 40, y: 336, reach: 34 };

/** Height of a drawing of plan, list and cut. */
export const movesHeight = elevation.y + 72;

/** Cut along the direction of the tilt: the plate as it is, and as the moves leave it, heights stretched. */
export function drawElevation(test: TestResults, moves: Moves): string {
  const source = moves.from === "sweep" ? test.sweep : test.field;
  if (!isKnown(source?.tiltAcross) || !isKnown(source?.tiltDirection)) return "";
  const half = source.tiltAcross.value / 2;
  const rest = isKnown(moves.remainingTilt) ? moves.remainingTilt.value / 2 : 0;
  const scale = elevation.reach / Math.max(half, 1);
  const line = (rise: number, attributes: Record<string, string | number>) =>
    drawElement("path", {
      d: tracePath([
        [elevation.left, elevation.y + rise * scale],
        [elevation.right, elevation.y - rise * scale],
      ]),
      fill: "none",
      ...attributes,
    });
  const angle = formatSigned(source.tiltDirection.value, 0);
  return (
    line(half, { stroke: colours.accent, "stroke-width": 1.6 }) +
    line(0, { stroke: colours.ink, "stroke-width": 1.6 }) +
    line(half - rest, { stroke: colours.ink, "stroke-width": 1, "stroke-dasharray": "5 3" }) +
    drawText(
      elevation.left,
      elevation.y - elevation.reach - 32,
      `cut along ${angle}°, heights stretched; telescope above`,
      {
        class: "soft",
      },
    ) +
    drawText(
      elevation.right,
      elevation.y - elevation.reach - 6,
      `focus, ${(2 * half).toFixed(0)} µm across`,
      {
        "text-anchor": "end",
        fill: colours.accent,
      },
    ) +
    drawText(elevation.right, elevation.y + 16, "sensor now", { "text-anchor": "end" }) +
    drawText(
      elevation.left,
      elevation.y + elevation.reach + 28,
      `broken: sensor after the moves, ${stateRemainder(2 * rest).replace("um", "µm")} left`,
      {
        class: "soft",
      },
    )
  );
}

function tellMoves(screws: readonly Screw[], moves: Moves, test: TestResults): string {
  if (moves.advice === "leave") return "The tilt asks for no turn of the screws";
  const most = screws.reduce((far, next) => (Math.abs(next.moveUm) > Math.abs(far.moveUm) ? next : far));
  const direction = (moves.from === "sweep" ? test.sweep : test.field)?.tiltDirection;
  const where = isKnown(direction)
    ? `: sensor towards the telescope at the ${nameSide(direction.value)}`
    : "";
  return `Screw ${most.number} moves most, ${Math.abs(most.moveUm).toFixed(0)}\u00a0µm${where}`;
}

/**
 * The adjuster with its moves: plan of the screws over the sensor's outline, the list of moves, and a cut along the tilt.
 * Null without an adjuster on record or where the moves are not known.
 */
export function drawMoves(results: TrainResults, testIndex: number): Figure | null {
  const test = results.tests[testIndex];
  if (test.moves === null) return null;
  if (test.moves.shims) return null;
  const screws = listScrews(results, test.moves);
  if (screws.length === 0) return null;
  const id = makeFigureId("fig-moves", test.id, testIndex);
  const title = tellMoves(screws, test.moves, test);
  const subtitle = `How far each screw moves the plate to lay the sensor along the focal surface with the centre’s focus kept, ${nameTest(test)}; filled marks open the gap, away from the telescope.`;
  const alternative = `Plan of ${screws.length} adjusting screws of ${nameTrain(results)} over the sensor. ${screws
    .map((screw) => `Screw ${screw.number}: ${formatSigned(screw.moveUm, 0)} µm.`)
    .join(" ")} ${title}.`;
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      movesHeight,
      drawPlan(screws, test),
      drawList(screws, test.moves.advice !== "leave"),
      drawElevation(test, test.moves),
    ),
    data: writeTable(screws),
    chart: null,
  };
}
