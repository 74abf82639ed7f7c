import { formatTurns } from "../maths/format-turns.ts";
import type { Quantity } from "../maths/quantity.ts";
import { isKnown, stateRemainder } from "../maths/state-quantity.ts";
import type { TestResults } from "../report/results.ts";
import { formatDate } from "./format-number.ts";
import {
  listQuantityCells,
  listQuantityKeys,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
  type PageTable,
} from "./page-table.ts";

function sayTiltLeft(tilt: Quantity): string {
  return isKnown(tilt) ? stateRemainder(tilt.value) : "not known";
}

function nameTurn(setTurns: number | null | undefined): string {
  if (setTurns === null || setTurns === undefined) return "not known";
  const turns = formatTurns(setTurns);
  return turns === null ? "leave" : `${setTurns > 0 ? "open" : "close"} ${turns}`;
}

/** Shims, what they are made of, and where they go. */
function makeShimsTable(test: TestResults, shims: ShimList): PageTable {
  const left = test.moves === null ? "" : sayTiltLeft(test.moves.remainingTilt);
  return {
    id: `tbl-moves-${test.id}`,
    number: 0,
    remarks: [],
    caption: `Shims to level the sensor, ${formatDate(test.date)}`,
    note: `With these laid: ${left} of tilt left across the diagonal.`,
    columns: [
      makeColumn("Shim at"),
      makeColumn("From the axis, mm", true),
      makeColumn("Thickness, µm", true),
      makeColumn("Made of, µm"),
    ],
    rows: shims.map(({ angleDeg, radiusMm, thicknessUm, madeOfUm }) => [
      makeTextCell(`${Math.round(angleDeg)}°`),
      makeTextCell(radiusMm.toFixed(1)),
      makeTextCell(thicknessUm.toFixed(0)),
      makeTextCell(thicknessUm === 0 ? "nothing" : madeOfUm.join(" + ")),
    ]),
    csv: {
      columns: [
        { key: "angle_deg", heading: "Angle" },
        { key: "radius_mm", heading: "From the axis" },
        { key: "thickness_um", heading: "Thickness" },
        { key: "made_of_um", heading: "Made of" },
      ],
      rows: shims.map(({ angleDeg, radiusMm, thicknessUm, madeOfUm }) => [
        angleDeg,
        radiusMm,
        thicknessUm,
        madeOfUm.join(" + "),
      ]),
    },
  };
}

type ShimList = NonNullable<NonNullable<TestResults["moves"]>["shims"]>;

export function makeMovesTable(test: TestResults): PageTable | null {
  const { moves } = test;
  if (moves === null || moves.screws.every(({ move }) => move.value === null)) return null;
  if (moves.shims) return makeShimsTable(test, moves.shims);
  return {
    id: `tbl-moves-${test.id}`,
    number: 0,
    remarks: [],
    caption: `${moves.advice === "leave" ? "Moves that would level the sensor, not needed" : "Moves to level the sensor"}, ${formatDate(test.date)}: positive away from the telescope`,
    note: `Set by hand, to the nearest 15 degrees, ${sayTiltLeft(moves.remainingTilt)} of tilt is left across the diagonal. Opening only: the same levelling with no screw closed.`,
    columns: [
      makeColumn("Screw at"),
      makeColumn("Move", true),
      makeColumn("Turns", true),
      makeColumn("Set by hand"),
      makeColumn("Opening only, turns", true),
    ],
    rows: moves.screws.map((screw, k) => [
      makeTextCell(`${Math.round(screw.angleDeg)}°`),
      makeQuantityCell(screw.move, { sign: true }),
      makeQuantityCell(screw.turns, { sign: true }),
      makeTextCell(nameTurn(screw.setTurns)),
      makeTextCell(moves.oneWay?.[k] === undefined ? "none" : moves.oneWay[k].toFixed(2)),
    ]),
    csv: {
      columns: [
        { key: "angle_deg", heading: "Angle" },
        ...listQuantityKeys("move", "um"),
        ...listQuantityKeys("turns", "turn"),
        { key: "set_turns", heading: "Turns to set" },
      ],
      rows: moves.screws.map((screw) => [
        screw.angleDeg,
        ...listQuantityCells(screw.move),
        ...listQuantityCells(screw.turns),
        screw.setTurns ?? null,
      ]),
    },
  };
}
