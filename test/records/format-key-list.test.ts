import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { describe, expect, it } from "vitest";
import { formatKeyList } from "../../lib/records/format-key-list.ts";

describe("formatKeyList()", () => {
  it("is what docs/records.md holds (npm run docs writes it)", () => {
    expect(readFileSync(resolve(import.meta.dirname, "../../docs/records.md"), "utf8")).toBe(formatKeyList());
  });

  it("shows <id> as text and breaks no table row", () => {
    const rows = formatKeyList()
      .split("\n")
      .filter((line) => line.startsWith("| "));
    expect(rows.length).toBeGreaterThan(80);
    for (const row of rows) {
      expect(row).not.toMatch(/<[a-z]/i);
      expect(row.match(/(?<!\\)\|/g)).toHaveLength(5);
    }
  });
});
