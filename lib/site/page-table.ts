import type { DataTable } from "../draw/figure.ts";
import type { Quantity } from "../maths/quantity.ts";
import { formatInterval, formatQuantity } from "./format-number.ts";
import { spellUnits } from "./spell-units.ts";

/** One cell as the page prints it. */
export interface PageCell {
  text: string;
  /** The 95 % interval, printed small beneath the value. */
  interval: string | null;
  /** Why nothing can be told; printed beneath the table, called by `mark`. */
  why: string | null;
  /** Letter of the remark that says why; set when the page is put together. */
  mark: string | null;
  href: string | null;
  /** What the column is sorted by, where the table offers it; null where nothing is known. */
  sort?: string | number | null;
}

export interface PageColumn {
  heading: string;
  /** Number columns are set to the right. */
  number: boolean;
  /** The unit that a reader may switch to, where the same width stands in three columns: "px", "um" or "arcsec". */
  unit: string | null;
}

/** A table as the page prints it; the first cell of a row is its heading. */
export interface PageTable {
  /** Fixed by hand: "tbl-zones-2026-10-03". */
  id: string;
  /** Position among the page's tables; set when the page is put together. */
  number: number;
  /** States what the table shows. */
  caption: string;
  note: string | null;
  columns: PageColumn[];
  rows: PageCell[][];
  /** The reasons why cells are empty, each once; set when the page is put together. */
  remarks: { mark: string; text: string }[];
  csv: DataTable;
  /** Its rows may be put in another order by the page's script; without script they stand as given. */
  sortable?: boolean;
  /** It stands in the author's prose; its section only points there. Set when the page is put together. */
  inProse?: boolean;
}

export function makeColumn(heading: string, number = false, unit: string | null = null): PageColumn {
  return { heading, number, unit };
}

export function makeTextCell(text: string | number | null, href: string | null = null): PageCell {
  return {
    text: text === null ? "not stated" : spellUnits(String(text)),
    interval: null,
    why: null,
    mark: null,
    href,
    sort: text,
  };
}

/** Where a number has no value because there is nothing to measure, and not because it cannot be told: the word for it. */
const wordsForNothing: readonly [RegExp, string][] = [
  [/^The whole sensor is lit/, "all of it"],
  [/^The light has no gradient/, "none"],
];

function sayUnknown(why: string): string {
  return wordsForNothing.find(([reason]) => reason.test(why))?.[1] ?? "not known";
}

/** A measured value with its interval, or the reason why there is none. */
export function makeQuantityCell(
  quantity: Quantity,
  options: { sign?: boolean; unit?: boolean } = {},
): PageCell {
  return {
    text: quantity.value === null ? sayUnknown(quantity.why) : formatQuantity(quantity, options),
    interval: formatInterval(quantity),
    why: quantity.value === null ? quantity.why : null,
    mark: null,
    href: null,
    sort: quantity.value,
  };
}

/** A quantity's CSV columns: value, interval and the number of things it rests on. */
export function listQuantityKeys(key: string, unit: string): { key: string; heading: string }[] {
  return [
    { key: `${key}_${unit}`, heading: key },
    { key: `${key}_lo_${unit}`, heading: `${key}, lower end` },
    { key: `${key}_hi_${unit}`, heading: `${key}, upper end` },
    { key: `${key}_n`, heading: `${key}, rests on` },
  ];
}

export function listQuantityCells(quantity: Quantity): (number | null)[] {
  return quantity.value === null
    ? [null, null, null, null]
    : [quantity.value, quantity.lo, quantity.hi, quantity.n];
}

/** Numbers the tables in page order, spells their words out and gives each reason for an empty cell its letter. Changes the tables given. */
export function finishTables(tables: readonly PageTable[]): readonly PageTable[] {
  tables.forEach((table, k) => {
    table.number = k + 1;
    table.caption = spellUnits(table.caption);
    table.note = table.note === null ? null : spellUnits(table.note);
    const marks = new Map<string, string>();
    for (const cell of table.rows.flat()) {
      if (cell.why === null) continue;
      cell.mark = marks.get(cell.why) ?? nameMark(marks.size);
      marks.set(cell.why, cell.mark);
    }
    table.remarks = [...marks].map(([text, mark]) => ({ mark, text: spellUnits(text) }));
  });
  return tables;
}

/** a to z, then aa, ab and so on. */
function nameMark(index: number): string {
  const letter = String.fromCharCode(97 + (index % 26));
  return index < 26 ? letter : `${nameMark(Math.floor(index / 26) - 1)}${letter}`;
}
