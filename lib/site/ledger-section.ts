import type { TrainResults } from "../report/results.ts";
import { formatDate, formatPlain, formatWithInterval } from "./format-number.ts";
import type { PageTable } from "./page-table.ts";
import {
  listQuantityCells,
  listQuantityKeys,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
} from "./page-table.ts";
import { spellUnits } from "./spell-units.ts";

export interface PageLedger {
  sentence: string;
  facts: { label: string; value: string }[];
  table: PageTable;
}

function listFacts(ledger: NonNullable<TrainResults["ledger"]>): PageLedger["facts"] {
  const { combination, bracketMm, expectedCorner, stop, radialMeans, notes } = ledger;
  const facts: { label: string; value: string | null }[] = [
    { label: "Best spacing error", value: formatWithInterval(ledger.best, { sign: true }) },
    {
      label: "Between",
      value:
        bracketMm === null || bracketMm === undefined || ledger.stage !== "bracket"
          ? null
          : `${formatPlain(bracketMm[0])} and ${formatPlain(bracketMm[1])} mm`,
    },
    {
      label: "Corners then, over stars in focus",
      value:
        expectedCorner === null || expectedCorner === undefined || expectedCorner.value === null
          ? null
          : formatWithInterval(expectedCorner),
    },
    { label: "Next move", value: stop ? "none" : formatWithInterval(ledger.nextMove, { sign: true }) },
    {
      label: "Made from",
      value: stop || ledger.nextMove.value === null ? null : nameCombination(combination),
    },
    { label: "Stars drawn out along the radius mean", value: nameRule(radialMeans) },
    { label: "Not counted", value: notes === undefined || notes.length === 0 ? null : notes.join(" ") },
  ];
  return facts.flatMap(({ label, value }) => (value === null ? [] : [{ label, value }]));
}

function nameCombination(combination: number[] | null): string {
  if (combination === null) return "no combination owned";
  return combination.length === 0
    ? "no spacer"
    : combination.map((mm) => `${formatPlain(mm)} mm`).join(" + ");
}

function nameRule(radialMeans: "tooClose" | "tooFar" | null | undefined): string | null {
  if (radialMeans === null || radialMeans === undefined) return null;
  return `${radialMeans === "tooClose" ? "too close" : "too far"}, as measured here`;
}

/** The spacings tried so far with what each gave; null until the results hold them. */
export function makeLedgerSection(ledger: TrainResults["ledger"]): PageLedger | null {
  if (ledger === null) return null;
  const { rows } = ledger;
  return {
    sentence: spellUnits(ledger.sentence),
    facts: listFacts(ledger),
    table: {
      id: "tbl-ledger",
      number: 0,
      remarks: [],
      caption:
        "Spacings tried, one night a row: spacing error and what the stars showed, with 95 % intervals",
      note: null,
      columns: [
        makeColumn("Night"),
        makeColumn("Spacing error", true),
        makeColumn("Curvature", true),
        makeColumn("Astigmatism", true),
        makeColumn("Radial elongation", true),
        makeColumn("Tilt across", true),
        makeColumn("Seeing", true),
      ],
      rows: rows.map((row) => [
        makeTextCell(formatDate(row.date)),
        ...[row.spacingError, row.curvature, row.astigmatism, row.radial].map((quantity) =>
          makeQuantityCell(quantity, { sign: true }),
        ),
        makeQuantityCell(row.tiltAcross),
        makeQuantityCell(row.seeing),
      ]),
      csv: {
        columns: [
          { key: "test", heading: "Test" },
          { key: "date", heading: "Date" },
          ...listQuantityKeys("spacing_error", "mm"),
          ...listQuantityKeys("curvature", "um_mm2"),
          ...listQuantityKeys("astigmatism", "um_mm2"),
          ...listQuantityKeys("radial", "ratio"),
          ...listQuantityKeys("tilt_across", "um"),
          ...listQuantityKeys("seeing", "arcsec"),
        ],
        rows: rows.map((row) => [
          row.test,
          row.date,
          ...[
            row.spacingError,
            row.curvature,
            row.astigmatism,
            row.radial,
            row.tiltAcross,
            row.seeing,
          ].flatMap(listQuantityCells),
        ]),
      },
    },
  };
}
