import { escapeHtml } from "./escape-text.ts";
import type { PageCell, PageColumn, PageTable } from "./page-table.ts";

/** A table's rows as HTML, the first cell of each its heading; made here, as templates are slow at many cells. */
export function formatTableRows(table: PageTable): string {
  return table.rows
    .map((row) => `<tr>${row.map((cell, column) => formatCell(table, cell, column)).join("")}</tr>`)
    .join("\n");
}

function formatCell(table: PageTable, cell: PageCell, column: number): string {
  // What the column is sorted by, for tables whose rows the script may put in order.
  const { sort = null } = cell;
  const order = table.sortable && sort !== null ? ` data-sort="${escapeHtml(String(sort))}"` : "";
  if (column === 0) return `<th scope="row"${order}>${formatContent(cell)}</th>`;
  return `<td${order}${formatKind(table.columns[column])}>${formatContent(cell)}</td>`;
}

/** Attributes that a column's cells share. */
function formatKind({ number, unit }: PageColumn): string {
  return `${number ? ' class="num"' : ""}${unit === null ? "" : ` data-unit="${escapeHtml(unit)}"`}`;
}

function formatContent({ text, mark, href, interval }: PageCell): string {
  const words = escapeHtml(text);
  const value =
    mark !== null
      ? `${words}<sup>${escapeHtml(mark)}</sup>`
      : href !== null
        ? `<a href="${escapeHtml(href)}">${words}</a>`
        : words;
  return interval === null ? value : `${value} <small>${escapeHtml(interval)}</small>`;
}
