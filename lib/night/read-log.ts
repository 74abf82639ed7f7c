import { type Fault, ReportError } from "../fault.ts";
import { parseTable } from "../maths/parse-table.ts";

/** A log of a night: samples in order of time, one array a column. */
export interface NightLog {
  /** Seconds, as the log counts them; never falling. */
  timeS: Float64Array;
  columns: Readonly<Record<string, Float64Array>>;
  /** Rows without a number in every column: the guide star was lost, or the sensor was silent. */
  skipped: number;
}

/** Where a log stands in the records, and what its columns may hold. */
export interface LogKind {
  file: string;
  /** Key of the record that names the file. */
  key: string;
  columns: readonly { heading: string; least: number; most: number }[];
}

/** A night of ten hours at four samples a second and more; a longer file is something else. */
const mostRows = 200_000;
/** A log with a bad cell in every row need not be told two hundred thousand times. */
const mostFaultsShown = 20;
const timeColumn = { heading: "time_s", least: -1e7, most: 1e10 };

/** The guider's log: error on the sky of each correction, arcsec; more than a degree is no guiding. */
export function readGuidingLog(text: string, file: string): NightLog {
  const axis = { least: -3600, most: 3600 };
  const columns = ["ra_arcsec", "dec_arcsec"].map((heading) => ({ heading, ...axis }));
  return readLog(text, { file, key: "guiding.file", columns });
}

/** The wind's log, m/s; no wind that a telescope stood in blew faster than 100 m/s. */
export function readWindLog(text: string, file: string): NightLog {
  return readLog(text, { file, key: "wind.file", columns: [{ heading: "speed_m_s", least: 0, most: 100 }] });
}

/**
 * A log from the text of its CSV. Rows with an empty cell, or "nan", are counted and left out.
 *
 * @throws ReportError with the faults of the table, at most 20 of its cells
 */
function readLog(text: string, kind: LogKind): NightLog {
  const { file, key } = kind;
  const wanted = [timeColumn, ...kind.columns];
  const told = wanted.map(({ heading }) => heading).join(", ");
  const fail = (found: string, allowed: string, fix: string): never => {
    throw new ReportError([{ code: "night/log", file, key, found, allowed, fix }]);
  };
  const parsed = parseTable(text, mostRows + 1);
  if ("reason" in parsed) return fail(parsed.reason, `CSV with the columns ${told}`, "mend the log");
  const { rows } = parsed;
  if (rows.length === 0) return fail("no row", `CSV with the columns ${told}`, "give the night's own log");
  if (rows.length > mostRows)
    return fail(`more than ${mostRows} rows`, "one night's log", "cut the log to the night of the test");
  const missing = wanted.filter(({ heading }) => !Object.hasOwn(rows[0], heading));
  if (missing.length > 0) {
    const found = `no column ${missing.map(({ heading }) => heading).join(", ")}`;
    return fail(found, `the columns ${told}`, "name the columns so in the log's first line");
  }
  const faults: Fault[] = [];
  const read = (cell: string, row: number, column: (typeof wanted)[number]): number => {
    if (cell === "" || /^nan$/i.test(cell)) return Number.NaN;
    const value = Number(cell);
    if (value >= column.least && value <= column.most) return value;
    if (faults.length < mostFaultsShown) {
      const allowed = `a number from ${column.least} to ${column.most}, or an empty cell`;
      const fix = "correct the cell or empty it";
      const found = JSON.stringify(cell.slice(0, 40));
      faults.push({ code: "night/log", file, line: row + 2, key: column.heading, found, allowed, fix });
    }
    return Number.NaN;
  };
  const table = rows.map((row, k) => wanted.map((column) => read(row[column.heading], k, column)));
  const whole = table.filter((cells) => cells.every(Number.isFinite));
  const falls = whole.findIndex(([time], k) => k > 0 && time < whole[k - 1][0]);
  if (falls > 0 && faults.length === 0) {
    const found = `time_s falls from ${whole[falls - 1][0]} to ${whole[falls][0]}`;
    fail(found, "times that grow from row to row", "sort the log, or cut it to one night");
  }
  if (faults.length > 0) throw new ReportError(faults);
  const take = (k: number) => Float64Array.from(whole, (cells) => cells[k]);
  return {
    timeS: take(0),
    columns: Object.fromEntries(kind.columns.map(({ heading }, k) => [heading, take(k + 1)])),
    skipped: rows.length - whole.length,
  };
}
