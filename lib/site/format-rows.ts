import type { DataTable } from "../draw/figure.ts";
import { escapeHtml } from "./escape-text.ts";
import { formatPlain } from "./format-number.ts";

/**
 * The rows of a figure's numbers as HTML, at most `most` of them; made here, as templates are slow at many cells.
 * Most cells are numbers, and the table's class says how those are set: only text has a class of its own.
 */
export function formatRows(table: DataTable, most: number): string {
  return table.rows
    .slice(0, most)
    .map((row) => {
      const cells = row.map((cell, column) => {
        const text = cell === null ? "not known" : typeof cell === "number" ? formatPlain(cell) : cell;
        if (column === 0) return `<th scope="row">${escapeHtml(text)}</th>`;
        return `<td${typeof cell === "string" ? ' class="text"' : ""}>${escapeHtml(text)}</td>`;
      });
      return `<tr>${cells.join("")}</tr>`;
    })
    .join("\n");
}
