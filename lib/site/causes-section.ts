import type { Quantity } from "../maths/quantity.ts";
import type { Corner, TestResults } from "../report/results.ts";
import { formatDate, formatWithInterval } from "./format-number.ts";
import { makeMovesTable } from "./moves-table.ts";
import {
  listQuantityCells,
  listQuantityKeys,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
  type PageTable,
} from "./page-table.ts";
import { spellUnits } from "./spell-units.ts";
import { makeSweepSection, type PageSweep } from "./sweep-section.ts";

/** What ails the frames of one test, and what to do: the part of a test's section that answers. */
export interface PageCauses {
  sentence: string | null;
  facts: { label: string; value: string }[];
  why: string | null;
  moves: { sentence: string; table: PageTable | null } | null;
  corners: PageTable | null;
  sweep: PageSweep | null;
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
    ["Rises towards, counter-clockwise from the right", field.tiltDirection, true],
    ["Curvature c", field.curvature, true],
    ["Astigmatism A", field.astigmatism, true],
    ["Defocus at the centre", field.defocus, true],
    ["Tracking, as ellipticity", field.tracking.ellipticity, false],
    ["Seeing, optics taken out", field.seeing, false],
    ["Explained by the model", field.explained, false],
  ];
  return facts.map(([label, quantity, sign]) => ({
    label,
    value: quantity.value === null ? sayUnknown(quantity.why, field.why) : write(quantity, sign),
  }));
}

/** Why a number is not known, by its first sentence, unless the note below says just that. */
function sayUnknown(why: string, note: string): string {
  const first = why.split(/(?<=[a-z])\. /)[0].replace(/\.$/, "");
  return note.includes(first)
    ? "cannot tell"
    : `cannot tell: ${first.charAt(0).toLowerCase()}${spellUnits(first.slice(1))}`;
}

const none: Quantity = { value: null, unit: "ratio", why: "No zone, or no sweep, of this test tells it." };

/** A ratio of widths as what it is above one, percent. */
function writeAsGrowth(ratio: Quantity): Quantity {
  if (ratio.value === null) return ratio;
  const [value, lo, hi] = [ratio.value, ratio.lo, ratio.hi].map((one) => 100 * (one - 1));
  return { ...ratio, unit: "percent", value, lo, hi };
}

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
      ? "Out of focus: at the best common focus of the sweep; costs in width: how much wider stars are there than at the corner’s own best focus."
      : null,
    columns: [
      makeColumn("Corner"),
      makeColumn("Stars are"),
      makeColumn("Confidence", true),
      makeColumn("Width over centre", true),
      makeColumn("Radial elongation", true),
      ...(withSweep ? [makeColumn("Out of focus", true), makeColumn("Costs in width", true)] : []),
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
        ...(withSweep
          ? [makeQuantityCell(outOfFocus, { sign: true }), makeQuantityCell(writeAsGrowth(cost))]
          : []),
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
