import type { Quantity } from "../maths/quantity.ts";
import type { Corner, TestResults } from "../report/results.ts";
import { formatDate, formatQuantity, formatWithInterval } from "./format-number.ts";
import {
  listQuantityCells,
  listQuantityKeys,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
  type PageTable,
} from "./page-table.ts";
import { spellUnits } from "./spell-units.ts";

/** What ails the frames of one test, and what to do: the part of a test's section that answers. */
export interface PageCauses {
  sentence: string | null;
  facts: { label: string; value: string }[];
  why: string | null;
  moves: { sentence: string; table: PageTable | null } | null;
  corners: PageTable | null;
  sweep: { notes: string[]; table: PageTable; facts: { label: string; value: string }[] } | null;
}

const corners: readonly Corner[] = ["upperLeft", "upperRight", "lowerLeft", "lowerRight"];
const cornerWords: Record<Corner, string> = {
  upperLeft: "Upper left",
  upperRight: "Upper right",
  lowerLeft: "Lower left",
  lowerRight: "Lower right",
};

const classWords: Record<string, string> = {
  radial: "along the radius",
  tangential: "across the radius",
  oblique: "oblique",
  round: "round",
  unknown: "cannot tell",
};

function listFieldFacts(test: TestResults): { label: string; value: string }[] {
  const { field } = test;
  if (field === null) return [];
  const write = (quantity: Quantity, sign = false) => formatWithInterval(quantity, { sign });
  const facts: [string, Quantity, boolean][] = [
    ["Tilt across the diagonal", field.tiltAcross, false],
    ["Focus rises towards", field.tiltDirection, true],
    ["Curvature c", field.curvature, true],
    ["Astigmatism A", field.astigmatism, true],
    ["Defocus at the centre", field.defocus, true],
    ["Tracking, as ellipticity", field.tracking.ellipticity, false],
    ["Seeing, optics taken out", field.seeing, false],
    ["Explained by the model", field.explained, false],
  ];
  return facts.map(([label, quantity, sign]) => ({
    label,
    value: quantity.value === null ? "cannot tell" : write(quantity, sign),
  }));
}

const none: Quantity = { value: null, unit: "ratio", why: "No zone, or no sweep, of this test tells it." };

function makeCornerTable(test: TestResults): PageTable | null {
  const { diagnosis, zones, contrasts, sweep } = test;
  if (diagnosis === null) return null;
  const withSweep = sweep?.corners !== undefined;
  const read = (corner: Corner) => ({
    overCentre: contrasts?.overCentre[corner] ?? none,
    radial: zones?.[corner].radial ?? none,
    outOfFocus: sweep?.corners?.[corner].outOfFocus ?? none,
    cost: sweep?.corners?.[corner].cost ?? none,
  });
  return {
    id: `tbl-corners-${test.id}`,
    number: 0,
    remarks: [],
    caption: `Corner by corner, ${formatDate(test.date)}: how stars are drawn out, and how sure that is`,
    note: withSweep
      ? "Out of focus: at the best common focus of the sweep; cost: width there over width at the corner’s own."
      : null,
    columns: [
      makeColumn("Corner"),
      makeColumn("Stars are"),
      makeColumn("Confidence", true),
      makeColumn("Width over centre", true),
      makeColumn("Radial elongation", true),
      ...(withSweep ? [makeColumn("Out of focus", true), makeColumn("Cost", true)] : []),
    ],
    rows: corners.map((corner) => {
      const verdict = diagnosis.corners[corner];
      const { overCentre, radial, outOfFocus, cost } = read(corner);
      return [
        makeTextCell(cornerWords[corner]),
        makeTextCell(classWords[verdict.class] ?? verdict.class),
        makeTextCell(`${Math.round(100 * verdict.confidence)} %`),
        makeQuantityCell(overCentre),
        makeQuantityCell(radial, { sign: true }),
        ...(withSweep ? [makeQuantityCell(outOfFocus, { sign: true }), makeQuantityCell(cost)] : []),
      ];
    }),
    csv: {
      columns: [
        { key: "corner", heading: "Corner" },
        { key: "class", heading: "Stars are" },
        { key: "confidence", heading: "Confidence" },
        ...listQuantityKeys("width_over_centre", "ratio"),
        ...listQuantityKeys("radial", "ratio"),
        ...listQuantityKeys("out_of_focus", "um"),
        ...listQuantityKeys("cost", "ratio"),
      ],
      rows: corners.map((corner) => {
        const { overCentre, radial, outOfFocus, cost } = read(corner);
        const verdict = diagnosis.corners[corner];
        return [
          corner,
          verdict.class,
          Number(verdict.confidence.toFixed(3)),
          ...[overCentre, radial, outOfFocus, cost].flatMap(listQuantityCells),
        ];
      }),
    },
  };
}

function nameTurn(setTurns: number | null | undefined): string {
  if (setTurns === null || setTurns === undefined) return "shim of this thickness";
  const parts = Math.round(Math.abs(setTurns) * 24);
  return parts === 0 ? "leave" : `${setTurns > 0 ? "open" : "close"} ${parts}/24 turn`;
}

function makeMovesTable(test: TestResults): PageTable | null {
  const { moves } = test;
  if (moves === null || moves.screws.every(({ move }) => move.value === null)) return null;
  return {
    id: `tbl-moves-${test.id}`,
    number: 0,
    remarks: [],
    caption: `Moves to level the sensor, ${formatDate(test.date)}: positive away from the telescope`,
    note: `After setting to what a hand can set: ${formatQuantity(moves.remainingTilt)} of tilt left across the diagonal.`,
    columns: [
      makeColumn("Screw or shim at"),
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

const zoneWords = {
  centre: "Centre",
  middle: "Middle",
  outer: "Outer",
  corner: "All corners",
  ...cornerWords,
} as const;

function makeSweepSection(test: TestResults): PageCauses["sweep"] {
  const { sweep } = test;
  if (sweep === null) return null;
  const zones = Object.keys(zoneWords) as (keyof typeof zoneWords)[];
  const settles =
    "The sweep tells heights with their sign and needs no astigmatism for it: where it and the frames in focus differ, trust the sweep.";
  const fact = (label: string, quantity: Quantity | undefined | null, sign = false) =>
    quantity === undefined || quantity === null
      ? []
      : [{ label, value: formatWithInterval(quantity, { sign }) }];
  return {
    notes: [settles, ...(sweep.notes ?? [])],
    facts: [
      ...fact("Best common position", sweep.bestPosition, true),
      ...fact("Tilt across the diagonal", sweep.tiltAcross),
      ...fact("Focus rises towards", sweep.tiltDirection, true),
      ...fact("Curvature c", sweep.curvature, true),
      ...fact("Astigmatism A", sweep.astigmatism, true),
      ...fact("Width of a star in focus", sweep.focusedWidth),
      ...fact("Steepness over that on record", sweep.steepness),
      ...fact("Cells against the surface, rms", sweep.mesh?.residual),
      ...fact("Lag of the focuser", sweep.lag),
    ],
    table: {
      id: `tbl-sweep-${test.id}`,
      number: 0,
      remarks: [],
      caption: `Best focus by zone from the focus sweep, ${formatDate(test.date)}: height over the centre’s, towards the telescope positive`,
      note: `${sweep.frames?.length ?? 0} positions took part.`,
      columns: [
        makeColumn("Zone"),
        makeColumn("Best focus", true),
        makeColumn("Along the radius", true),
        makeColumn("Across it", true),
      ],
      rows: zones.map((zone) => [
        makeTextCell(zoneWords[zone]),
        makeQuantityCell(sweep.zones[zone].best, { sign: true }),
        makeQuantityCell(sweep.zones[zone].alongRadius, { sign: true }),
        makeQuantityCell(sweep.zones[zone].acrossRadius, { sign: true }),
      ]),
      csv: {
        columns: [
          { key: "zone", heading: "Zone" },
          ...listQuantityKeys("best", "um"),
          ...listQuantityKeys("along", "um"),
          ...listQuantityKeys("across", "um"),
        ],
        rows: zones.map((zone) => [
          zone,
          ...listQuantityCells(sweep.zones[zone].best),
          ...listQuantityCells(sweep.zones[zone].alongRadius),
          ...listQuantityCells(sweep.zones[zone].acrossRadius),
        ]),
      },
    },
  };
}

/** Causes and moves of one test; null where the test has neither a field model nor a sweep. */
export function makeCausesSection(test: TestResults): PageCauses | null {
  if (test.field === null && test.diagnosis === null && test.sweep === null) return null;
  return {
    sentence: test.diagnosis === null ? null : spellUnits(test.diagnosis.sentence),
    facts: listFieldFacts(test),
    why: test.field === null ? null : spellUnits(test.field.why),
    moves:
      test.moves === null ? null : { sentence: spellUnits(test.moves.sentence), table: makeMovesTable(test) },
    corners: makeCornerTable(test),
    sweep: makeSweepSection(test),
  };
}

/** The section's tables in page order. */
export function listCauseTables(causes: PageCauses | null): PageTable[] {
  if (causes === null) return [];
  return [causes.corners, causes.moves?.table ?? null, causes.sweep?.table ?? null].filter(
    (table) => table !== null,
  );
}
