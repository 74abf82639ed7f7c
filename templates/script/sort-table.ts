/** Order of two cells of a column: numbers by size, texts as words; what is not known comes last either way. */
export function compareCells(one: string | null, other: string | null, down: boolean): number {
  if (one === null || other === null) return one === other ? 0 : one === null ? 1 : -1;
  const [a, b] = [Number(one), Number(other)];
  const numbers = one !== "" && other !== "" && Number.isFinite(a) && Number.isFinite(b);
  const order = numbers ? a - b : one.localeCompare(other, "en", { numeric: true });
  return down ? -order : order;
}

function sortRows(table: HTMLTableElement, column: number, down: boolean): void {
  const body = table.tBodies[0];
  const rows = [...body.rows].map((row, at) => ({
    row,
    at,
    cell: row.cells[column]?.getAttribute("data-sort") ?? null,
  }));
  rows.sort((one, other) => compareCells(one.cell, other.cell, down) || one.at - other.at);
  body.append(...rows.map(({ row }) => row));
}

/**
 * Gives the headings of each `table[data-sortable]` buttons that put its rows in order, up at the first press and down at
 * the next; `aria-sort` tells which column and which way.
 */
export function addTableSorting(root: Document): void {
  for (const table of root.querySelectorAll<HTMLTableElement>("table[data-sortable]")) {
    const headings = [...(table.tHead?.rows[0]?.cells ?? [])];
    headings.forEach((heading, column) => {
      // A heading may hold a link to its term, which no button may hold: the button stands below the words.
      const button = root.createElement("button");
      button.type = "button";
      button.className = "sort";
      button.setAttribute("aria-label", `Sort by ${(heading.textContent ?? "").trim()}`);
      heading.append(button);
      button.addEventListener("click", () => {
        const down = heading.getAttribute("aria-sort") === "ascending";
        for (const other of headings) other.removeAttribute("aria-sort");
        heading.setAttribute("aria-sort", down ? "descending" : "ascending");
        sortRows(table, column, down);
      });
    });
  }
}
