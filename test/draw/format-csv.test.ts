import { parse } from "csv-parse/sync";
import { describe, expect, it } from "vitest";
import { formatChartJson } from "../../lib/draw/format-chart.ts";
import { formatCsv } from "../../lib/draw/format-csv.ts";

const table = (cell: string | number | null) => ({
  columns: [{ key: "value_mm", heading: "Value, mm" }],
  rows: [[cell]],
});

describe("formatCsv(table)", () => {
  it("ends lines with CR LF and doubles quotes (RFC 4180, 2.1 and 2.7)", () => {
    expect(formatCsv(table('a "b", c'))).toBe('value_mm\r\n"a ""b"", c"\r\n');
  });

  it.each(["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "  =1", "\r=1", "＝1"])(
    "gives the text cell %j an apostrophe, so that no spreadsheet runs it (OWASP, CSV Injection)",
    (cell) => {
      const rows: string[][] = parse(formatCsv(table(cell)), { relax_column_count: true });
      expect(rows[1][0]).toBe(`'${cell}`);
    },
  );

  it("writes numbers plain, negative ones too, and nothing for what is not known", () => {
    expect(formatCsv(table(-0.68))).toBe("value_mm\r\n-0.68\r\n");
    expect(formatCsv(table(null))).toBe("value_mm\r\n\r\n");
    expect(formatCsv(table(Number.NaN))).toBe("value_mm\r\n\r\n");
  });

  it("reads back as written through an independent reader", () => {
    const cells = ["plain", 'q"q', "a,b", "line\nbreak", "ünï", 1.5, null];
    const text = formatCsv({
      columns: cells.map((_, k) => ({ key: `c${k}`, heading: "" })),
      rows: [cells],
    });
    expect(parse(text)[1]).toEqual(["plain", 'q"q', "a,b", "line\nbreak", "ünï", "1.5", ""]);
  });
});

describe("formatChartJson(settings)", () => {
  it("holds no character that ends a script element and reads back the same", () => {
    const settings = {
      kind: "scatter" as const,
      xTitle: "</script><!--\u2028",
      units: { only: { yTitle: "&", series: [] } },
    };
    const text = formatChartJson(settings);
    expect(text).not.toMatch(/[<>&\u2028]/);
    expect(JSON.parse(text)).toEqual(settings);
  });
});
