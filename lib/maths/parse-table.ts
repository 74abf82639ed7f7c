import { parse } from "csv-parse/sync";

/** A row by its headings. */
export type TableRow = Record<string, string>;

/**
 * Rows of CSV text with a header row (RFC 4180, and lines that begin with #, which are left out); at most `mostRows`.
 * `reason` where the text is no such table, in the parser's words without the text itself.
 */
export function parseTable(text: string, mostRows: number): { rows: TableRow[] } | { reason: string } {
  try {
    return {
      rows: parse(text, {
        columns: true,
        bom: true,
        trim: true,
        skip_empty_lines: true,
        relax_column_count: false,
        to: mostRows,
        comment: "#",
        comment_no_infix: true,
      }),
    };
  } catch (error) {
    return { reason: error instanceof Error ? error.message.split("\n")[0] : "not CSV" };
  }
}
