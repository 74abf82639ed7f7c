import { describe, expect, it } from "vitest";
import { parseFitsNumber } from "../../lib/frames/fits-card.ts";
import { findNumber, findText, isTrue, parseFitsHeader } from "../../lib/frames/fits-header.ts";
import { makeHeader } from "./fits-bytes.ts";

const parse = (...cards: Parameters<typeof makeHeader>[0]) => parseFitsHeader(makeHeader(cards));

describe("parseFitsHeader", () => {
  it("reads fixed and free format, T and F, E and D exponents", () => {
    const header = parse(
      "A       =                    T / yes",
      "B=5",
      "C       = 1.25D-3/c",
      "D       =-.5E+2",
      "E       =     F",
    );
    expect(isTrue(header, "A")).toBe(true);
    expect(findNumber(header, "B")).toBeNull();
    expect(findNumber(header, "C")).toBe(0.00125);
    expect(findNumber(header, "D")).toBe(-50);
    expect(isTrue(header, "E")).toBe(false);
  });

  it("undoes doubled quotes, keeps slashes within quotes, drops trailing blanks alone", () => {
    const header = parse("A       = '  O''Hara / B  ' / comment / more");
    expect(header.cards.get("A")).toMatchObject({ text: "  O'Hara / B", comment: "comment / more" });
  });

  it("joins a string over two CONTINUE cards, and leaves an ampersand that nothing follows", () => {
    const header = parse(
      "A       = 'one &' / c1",
      "CONTINUE  'two &' / c2",
      "CONTINUE  'three'",
      "B       = 'R&D &'",
      "C       = 1",
    );
    expect(findText(header, "A")).toBe("one two three");
    expect(header.cards.get("A")?.comment).toBe("c1 c2");
    expect(findText(header, "B")).toBe("R&D &");
  });

  it("reads HIERARCH keywords by their words", () => {
    const header = parse("HIERARCH Heron  sensor temp = -10.5 / C", "HIERARCH nothing here");
    expect(findNumber(header, "HERON SENSOR TEMP")).toBe(-10.5);
    expect(header.cards.size).toBe(1);
  });

  it("leaves out COMMENT, HISTORY, blank cards and what stands behind END", () => {
    const header = parse(
      "COMMENT = 5",
      "HISTORY = 6",
      "        = 7",
      "",
      "A       = 1",
      "END",
      "B       = 2",
    );
    expect([...header.cards.keys()]).toEqual(["A"]);
  });

  it("keeps the first of two values and notes the conflict, not a mere repeat", () => {
    const header = parse("A       = 1", "A       = 2", "B       = 3", "B       = 3");
    expect(findNumber(header, "A")).toBe(1);
    expect([...header.conflicts]).toEqual(["A"]);
  });

  it("keeps an unclosed quote, an unquoted word and a comma decimal as text, no number", () => {
    const header = parse("A       = 'open", "B       = clear / c", "C       = 3,76", "D       =");
    expect(["A", "B", "C", "D"].map((keyword) => findNumber(header, keyword))).toEqual([
      null,
      null,
      null,
      null,
    ]);
    expect(findText(header, "B")).toBe("clear");
    expect(findText(header, "C")).toBe("3,76");
    expect(findText(header, "D")).toBeNull();
  });
});

describe("parseFitsNumber", () => {
  it("takes what the standard allows and nothing that Number alone would", () => {
    expect(["1", "+1.", "-.5", "1e3", "1d3"].map(parseFitsNumber)).toEqual([1, 1, -0.5, 1000, 1000]);
    for (const text of ["", "0x10", "Infinity", "1_000", "1e", "nan", "1 2"])
      expect(parseFitsNumber(text)).toBeNaN();
  });
});
