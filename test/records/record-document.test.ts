import { describe, expect, it } from "vitest";
import { readDocument } from "../../lib/records/record-document.ts";

function read(text: string) {
  const { data, faults } = readDocument(text, "train.yaml");
  return { data, faults, places: faults.map(({ code, line, column }) => `${line}:${column} ${code}`) };
}

describe("readDocument", () => {
  it("reads dates, yes and no as text even where the file asks for YAML 1.1", () => {
    const { data, faults } = read("%YAML 1.1\n---\ndate: 2026-10-03\nflag: yes\nother: no\n");
    expect(faults).toEqual([]);
    expect(data).toEqual({ date: "2026-10-03", flag: "yes", other: "no" });
  });

  it.each([
    ["a tab as indent", "a:\n\tb: 1\n", "2:1 records/broken-yaml"],
    ["an unclosed quote", "a: 'x\n", "1:4 records/broken-yaml"],
    ["a second colon on a line", "a: 1\nname: Tarn: 115\n", "2:7 records/broken-yaml"],
    ["an unclosed bracket", "a: [1\nb: 2\n", "2:1 records/broken-yaml"],
    ["a reserved first character", "a: 1\nb: @x\n", "2:4 records/broken-yaml"],
    ["a second document", "a: 1\n---\nb: 2\n", "2:1 records/broken-yaml"],
    ["a duplicate key", "a: 1\nb: 2\na: 3\n", "3:1 records/duplicate-key"],
    ["an alias that nothing names", "a: 1\nb: *c\n", "2:4 records/alias"],
    ["a tag", "a: 1\nb: !file /etc/hosts\n", "2:4 records/tag"],
    ["a list in place of a key", "? [a]\n: 1\n", "1:1 records/broken-yaml"],
  ])("tells %s with its line and column", (_name, text, place) => {
    const { places } = read(text);
    expect(places).toEqual([place]);
  });

  it("tells both tabs of a block, and none of the four sound lines behind them", () => {
    const { places } = read("a:\n\tb: 1\n\tc: 2\n  d: 3\n    e: 4\nf:\n  g: 5\n");
    expect(places).toEqual(["2:1 records/broken-yaml", "3:1 records/broken-yaml"]);
  });

  it("tells once that lines are set in under a key that has its value already", () => {
    const { places } = read("camera: heron\n  name: Heron\n  widthPx: 100\n  heightPx: 50\n");
    expect(places).toHaveLength(1);
  });

  it("stops an alias bomb of ten billion values without expanding it", () => {
    const levels = "bcdefghij".split("");
    const lines = ["a: &a [1,1,1,1,1,1,1,1,1,1]"];
    levels.forEach((level, i) => {
      const below = String.fromCharCode(level.charCodeAt(0) - 1);
      lines.push(`${level}: &${levels[i]} [${Array(10).fill(`*${below}`).join(",")}]`);
    });
    const { data, faults } = read(lines.join("\n"));
    expect(data).toBeUndefined();
    expect(faults.map(({ code }) => code)).toEqual(["records/too-large"]);
    expect(faults[0].found).toContain("more than 100 aliases");
  });

  it("stops an alias within its own anchor", () => {
    expect(read("a: &a [*a]\n").places[0]).toMatch(/records\/too-deep$/);
  });

  it.each([
    ["brackets", `a: ${"[".repeat(100_000)}`, "1:24"],
    ["braces", "{a: ".repeat(30_000), "1:81"],
    ["list signs on one line", "- ".repeat(50_000), "1:41"],
    ["key signs on one line", "? ".repeat(50_000), "1:41"],
    ["indents", Array.from({ length: 400 }, (_, i) => `${" ".repeat(i)}k:`).join("\n"), "122:122"],
  ])(
    "refuses %s within each other before the parser's recursion can end the program",
    (_name, text, place) => {
      const { data, places } = read(text);
      expect(data).toBeUndefined();
      expect(places).toEqual([`${place} records/too-deep`]);
    },
  );

  it("reads 9000 keys of one mapping, and of 9000 repeated ones tells the first 20", () => {
    const many = Array.from({ length: 9000 }, (_, i) => `k${i}: 1`).join("\n");
    expect(Object.keys(read(many).data as object)).toHaveLength(9000);
    expect(read("a: 1\n".repeat(9000)).places).toHaveLength(20);
  });

  it("stops at 100 aliases", () => {
    expect(read(`a: &a 1\nb: [${"*a, ".repeat(100)}]`).faults).toEqual([]);
    expect(read(`a: &a 1\nb: [${"*a, ".repeat(101)}]`).places).toEqual(["2:405 records/too-large"]);
  });

  it("keeps a key named __proto__ as data and leaves the prototype alone", () => {
    const { data } = read("__proto__: { polluted: 1 }\n");
    expect(Object.keys(data as object)).toEqual(["__proto__"]);
    expect(({} as Record<string, unknown>)["polluted"]).toBeUndefined();
  });

  it("expands an honest alias and leaves out keys without a value", () => {
    expect(read("a: &a { x: 1 }\nb: *a\nc:\n").data).toEqual({ a: { x: 1 }, b: { x: 1 } });
  });

  it("counts lines the same with Windows line ends", () => {
    expect(read("a: 1\r\nb: 2\r\na: 3\r\n").places).toEqual(["3:1 records/duplicate-key"]);
  });
});
