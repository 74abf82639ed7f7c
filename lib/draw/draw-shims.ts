import type { TrainResults } from "../report/results.ts";
import type { Figure } from "./figure.ts";
import { figureWidth, frameDrawing, makeFigureId } from "./frame-figure.ts";
import { colours } from "./palette.ts";
import { formatSigned } from "./scale.ts";
import { drawElevation, drawPlan, type Screw } from "./screw-plan.ts";
import { drawLine, drawText } from "./svg.ts";
import { nameTest, nameTrain } from "./words.ts";

const listLeft = 246;

/**
 * Shims under the flange: plan of the places over the sensor's outline, the list of what to lay, and a cut along the tilt.
 * Null where screws level the sensor or the moves are not known.
 */
export function drawShims(results: TrainResults, testIndex: number): Figure | null {
  const test = results.tests[testIndex];
  const shims = test.moves?.shims ?? null;
  if (test.moves === null || shims === null) return null;
  const places: Screw[] = shims.map(({ angleDeg, radiusMm, thicknessUm }, k) => ({
    number: k + 1,
    angleDeg,
    xMm: radiusMm * Math.cos((angleDeg * Math.PI) / 180),
    yMm: radiusMm * Math.sin((angleDeg * Math.PI) / 180),
    moveUm: thicknessUm,
    lo: thicknessUm,
    hi: thicknessUm,
    turns: 0,
    setTurns: 0,
  }));
  const step = Math.min(26, 180 / shims.length);
  const list = shims.map(({ angleDeg, thicknessUm, madeOfUm }, k) => {
    const made = thicknessUm === 0 ? "nothing" : madeOfUm.length > 1 ? madeOfUm.join(" + ") : "one shim";
    const y = 60 + k * step;
    return (
      drawText(listLeft, y, `${k + 1}  at ${formatSigned(angleDeg, 0)}°`, { class: "num" }) +
      drawText(listLeft + 130, y, thicknessUm.toFixed(0), { class: "num strong", "text-anchor": "end" }) +
      drawText(listLeft + 142, y, made, { class: "num" })
    );
  });
  const head =
    drawText(listLeft, 34, "Shim", { class: "soft" }) +
    drawText(listLeft + 130, 34, "µm", { class: "soft", "text-anchor": "end" }) +
    drawText(listLeft + 142, 34, "made of", { class: "soft" }) +
    drawLine(listLeft, 41, figureWidth - 12, 41, { stroke: colours.rule, "stroke-width": 0.8 });
  const id = makeFigureId("fig-moves", test.id, testIndex);
  const thickest = Math.max(...places.map(({ moveUm }) => Math.round(moveUm)));
  const angles = places
    .filter(({ moveUm }) => Math.round(moveUm) === thickest)
    .map(({ angleDeg }) => `${angleDeg.toFixed(0)}°`);
  const [named, goes] = angles.length === 1 ? ["shim", "goes"] : ["shims", "go"];
  const title = `The thickest ${named}, ${thickest}\u00a0µm, ${goes} to ${angles.join(" and ")}`;
  const plan = drawPlan(places, test);
  const cut = drawElevation(test, test.moves, Math.max(plan.bottom, 60 + list.length * step));
  const subtitle = `Shims under the flange that lay the sensor along the focal surface, ${nameTest(test)}; filled marks carry shims.`;
  const alternative = `Plan of ${places.length} places for shims of ${nameTrain(results)} over the sensor. ${places
    .map(({ number, moveUm }) => `Place ${number}: ${moveUm.toFixed(0)} µm.`)
    .join(" ")} ${title}.`;
  return {
    id,
    test: test.id,
    title,
    subtitle,
    alternative,
    svg: frameDrawing(
      { id, title, alternative },
      cut.bottom,
      plan.drawing,
      head + list.join(""),
      cut.drawing,
    ),
    data: {
      columns: [
        { key: "shim", heading: "Shim" },
        { key: "angle_deg", heading: "At, degrees from +x as displayed" },
        { key: "radius_mm", heading: "From the axis, mm" },
        { key: "thickness_um", heading: "Thickness, µm" },
        { key: "made_of_um", heading: "Made of, µm" },
      ],
      rows: shims.map(({ angleDeg, radiusMm, thicknessUm, madeOfUm }, k) => [
        k + 1,
        angleDeg,
        radiusMm,
        thicknessUm,
        madeOfUm.join(" + "),
      ]),
    },
    chart: null,
  };
}
