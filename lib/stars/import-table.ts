import { type Fault, ReportError } from "../fault.ts";
import { parseTable, type TableRow } from "../maths/parse-table.ts";
import type { StarTableRecord } from "../records/types.ts";
import { writeShape } from "./average-stars.ts";
import { makeStarTable, STAR_FLAGS, type StarTable } from "./star-table.ts";

/** What turns a table's units into pixels of the record's sensor. */
export interface TableScale {
  geometry: { widthPx: number; heightPx: number; umPerPx: number };
  arcsecPerPx: number;
}

export interface ImportedTable {
  stars: StarTable;
  warnings: string[];
}

const mostRows = 1_000_000;
/** A table with a bad cell in every row need not be told a million times. */
const mostFaultsShown = 20;

function fail(file: string, found: string, allowed: string, fix: string): never {
  throw new ReportError([{ code: "stars/star-table", file, found, allowed, fix }]);
}

function parseRows(text: string, file: string): TableRow[] {
  const parsed = parseTable(text, mostRows);
  if ("rows" in parsed) return parsed.rows;
  return fail(file, parsed.reason, "CSV with a header row and as many cells in every row", "mend the table");
}

/** Widths and positions in px per unit; angles to degrees. */
function findFactor(word: string, unit: string, scale: TableScale): number {
  if (unit === "mm") return 1000 / scale.geometry.umPerPx;
  if (unit === "um") return 1 / scale.geometry.umPerPx;
  if (unit === "arcsec") return 1 / scale.arcsecPerPx;
  if (word === "angle" && unit === "rad") return 180 / Math.PI;
  return 1;
}

interface Columns {
  count: number;
  /** Values of our word, in px, degrees or as they are; null where the record names no column for it. */
  read: (word: string) => Float64Array | null;
}

function readColumns(rows: readonly TableRow[], record: StarTableRecord, scale: TableScale): Columns {
  const faults: Fault[] = [];
  const columns = new Map<string, Float64Array>();
  const headings = Object.keys(rows[0] ?? {});
  for (const [word, heading] of Object.entries(record.columns)) {
    if (!headings.includes(heading)) {
      faults.push({
        code: "stars/star-table",
        file: record.file,
        key: `starTable.columns.${word}`,
        found: `no column ${JSON.stringify(heading)}`,
        allowed: `one of the table's headings: ${headings.join(", ")}`,
        fix: "correct starTable.columns",
      });
      continue;
    }
    const factor = findFactor(word, record.units[word] ?? "", scale);
    const values = rows.map((row, index) => {
      const cell = row[heading];
      if (cell === "") return Number.NaN;
      const value = Number(cell);
      if (!Number.isFinite(value) && !/^nan$/i.test(cell)) {
        faults.push({
          code: "stars/star-table",
          file: record.file,
          line: index + 2,
          key: heading,
          found: JSON.stringify(cell),
          allowed: "a number with a decimal point, or an empty cell where there is none",
          fix: "correct the cell",
        });
      }
      return value * factor;
    });
    columns.set(word, Float64Array.from(values));
  }
  if (faults.length > 0) throw new ReportError(faults.slice(0, mostFaultsShown));
  return { count: rows.length, read: (word) => columns.get(word) ?? null };
}

/**
 * Positions in px count as the FITS standard does: 1 at the middle of the lower left pixel, y upwards as displayed
 * (FITS Standard 4.0, 2018, section 3.3.2). In mm and um they count from the sensor's centre, y upwards.
 */
function placeStars(stars: StarTable, columns: Columns, record: StarTableRecord, scale: TableScale): void {
  const { widthPx, heightPx } = scale.geometry;
  const place = (word: "x" | "y", size: number) => {
    const fromCentre = record.units[word] === "mm" || record.units[word] === "um";
    return (value: number) => (fromCentre ? (size - 1) / 2 + value : value - 1);
  };
  const [placeX, placeY] = [place("x", widthPx), place("y", heightPx)];
  const [x, y] = [columns.read("x"), columns.read("y")];
  for (let row = 0; row < columns.count; row++) {
    stars.xPx[row] = placeX(x?.[row] ?? Number.NaN);
    stars.yPx[row] = heightPx - 1 - placeY(y?.[row] ?? Number.NaN);
  }
}

/** Spin-2 pair from what the table has: e1 and e2, or long and short axis (or ellipticity) and angle; round without either. */
function readShape(columns: Columns, row: number): { fwhmPx: number; e1: number; e2: number } {
  const read = (word: string) => columns.read(word)?.[row] ?? Number.NaN;
  const [major, minor] = [read("fwhmMajor"), read("fwhmMinor")];
  const single = Number.isFinite(read("fwhm")) ? read("fwhm") : major;
  const fwhmPx = Number.isFinite(minor) ? Math.sqrt(major * minor) : single;
  if (columns.read("e1") !== null && columns.read("e2") !== null) {
    return { fwhmPx, e1: read("e1"), e2: read("e2") };
  }
  const ratio = columns.read("fwhmMinor") !== null ? minor / major : 1 - read("ellipticity");
  const size = (1 - ratio ** 2) / (1 + ratio ** 2);
  const angle = (read("angle") * Math.PI) / 180;
  if (columns.read("angle") === null || !Number.isFinite(size))
    return { fwhmPx, e1: Number.NaN, e2: Number.NaN };
  return { fwhmPx, e1: size * Math.cos(2 * angle), e2: size * Math.sin(2 * angle) };
}

/**
 * A star table made elsewhere, as a `StarTable` of the record's sensor. Stars without position or width, off the
 * sensor, or with a negative width are flagged `failed` and kept out of statistics.
 *
 * @throws ReportError stars/star-table for text that is no CSV, missing columns and cells that are no numbers
 */
export function importStarTable(text: string, record: StarTableRecord, scale: TableScale): ImportedTable {
  const rows = parseRows(text, record.file);
  if (rows.length === 0)
    fail(record.file, "no row below the headings", "one row a star", "give the whole table");
  const columns = readColumns(rows, record, scale);
  const stars = makeStarTable(columns.count);
  placeStars(stars, columns, record, scale);
  const { widthPx, heightPx } = scale.geometry;
  let left = 0;
  for (let row = 0; row < columns.count; row++) {
    const { fwhmPx, e1, e2 } = readShape(columns, row);
    writeShape(stars, row, fwhmPx, e1, e2);
    stars.hfdPx[row] = columns.read("hfd")?.[row] ?? Number.NaN;
    stars.fluxAdu[row] = columns.read("flux")?.[row] ?? 1;
    stars.peakAdu[row] = columns.read("peak")?.[row] ?? Number.NaN;
    stars.backgroundAdu[row] = columns.read("background")?.[row] ?? Number.NaN;
    stars.snr[row] = columns.read("snr")?.[row] ?? Number.NaN;
    const on =
      stars.xPx[row] > -1 && stars.xPx[row] < widthPx && stars.yPx[row] > -1 && stars.yPx[row] < heightPx;
    if (on && fwhmPx > 0) continue;
    stars.flags[row] |= STAR_FLAGS.failed;
    left++;
  }
  if (left === columns.count) {
    fail(
      record.file,
      "not one star on the sensor with a width above zero",
      `positions on ${widthPx} x ${heightPx} px`,
      "correct starTable.columns and units",
    );
  }
  const warnings = [
    `Star shapes are from ${record.file}, measured elsewhere: how its widths are defined, and whether the pixel is in them, is not known here.`,
  ];
  if (left > 0)
    warnings.push(
      `${left} of ${columns.count} rows lack a position on the sensor or a width and were left out.`,
    );
  return { stars, warnings };
}
