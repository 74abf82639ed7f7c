import type { DataTable } from "./figure.ts";

/**
 * A text cell that a spreadsheet would take for a formula gets an apostrophe before it, which spreadsheets show as
 * text; tab and carriage return at the start work as a formula's start too. Source: OWASP, "CSV Injection".
 */
function neutraliseFormula(text: string): string {
  return /^\s*[=+\-@\uff1d\uff0b\uff0d\uff20]|^[\t\r]/.test(text) ? `'${text}` : text;
}

function formatCell(cell: string | number | null): string {
  if (cell === null) return "";
  if (typeof cell === "number") return Number.isFinite(cell) ? String(cell) : "";
  const text = neutraliseFormula(cell);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/**
 * The table as CSV by RFC 4180: comma, quotes doubled, lines ended by CR LF, a header row of the columns' keys.
 * Numbers stand plain; what is not known is an empty cell.
 */
export function formatCsv(table: DataTable): string {
  const header = table.columns.map((column) => formatCell(column.key));
  const lines = [header, ...table.rows.map((row) => row.map(formatCell))];
  return lines.map((cells) => `${cells.join(",")}\r\n`).join("");
}
