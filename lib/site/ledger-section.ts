import type { TrainResults } from "../report/results.ts";
import { formatDate, formatPlain, formatQuantity } from "./format-number.ts";
import type { PageTable } from "./page-table.ts";
import {
  listQuantityCells,
  listQuantityKeys,
  makeColumn,
  makeQuantityCell,
  makeTextCell,
} from "./page-table.ts";

export interface PageLedger {
  sentence: string;
  facts: { label: string; value: string }[];
  table: PageTable;
}

/** The spacings tried so far with what each gave; null until the results hold them. */
export function makeLedgerSection(ledger: TrainResults["ledger"]): PageLedger | null {
  if (ledger === null) return null;
  const { rows, combination } = ledger;
  return {
    sentence: ledger.sentence,
    facts: [
      { label: "Best spacing error", value: formatQuantity(ledger.best, { sign: true }) },
      { label: "Next move", value: formatQuantity(ledger.nextMove, { sign: true }) },
      {
        label: "Made from",
        value:
          combination === null
            ? "no combination owned"
            : combination.map((mm) => `${formatPlain(mm)} mm`).join(" + "),
      },
    ],
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
        ...[row.spacingError, row.curvature, row.astigmatism, row.radial, row.tiltAcross].map((quantity) =>
          makeQuantityCell(quantity, { sign: true }),
        ),
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
