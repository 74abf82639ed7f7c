import { formatTurns } from "../maths/format-turns.ts";
import { nameSide } from "../maths/name-side.ts";
import type { TestResults, TrainResults } from "../report/results.ts";
import type { DataTable, Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import { formatSigned } from "./scale.ts";
import { drawElevation, drawPlan, type Screw } from "./screw-plan.ts";
import { drawLine, drawText } from "./svg.ts";
import { isKnown, nameTest, nameTrain } from "./words.ts";

type Moves = NonNullable<TestResults["moves"]>;

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

const listLeft = 230;

function drawList(screws: readonly Screw[], advised: boolean): { drawing: string; bottom: number } {
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
  return { drawing: head + rows.join(""), bottom: 60 + rows.length * step };
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
  const plan = drawPlan(screws, test);
  const list = drawList(screws, test.moves.advice !== "leave");
  const cut = drawElevation(test, test.moves, Math.max(plan.bottom, list.bottom));
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
    svg: frameDrawing({ id, title, alternative }, cut.bottom, plan.drawing, list.drawing, cut.drawing),
    data: writeTable(screws),
    chart: null,
  };
}
