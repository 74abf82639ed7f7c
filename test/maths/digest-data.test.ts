import { describe, expect, it } from "vitest";
import { digestData, settle } from "../../lib/maths/digest-data.ts";

describe("digestData", () => {
  it("is the same whatever the order of keys, and leaves out keys without a value", () => {
    expect(digestData({ a: 1, b: [2, "x"] })).toBe(digestData({ b: [2, "x"], c: undefined, a: 1 }));
  });

  it("tells apart what reads alike: 1 and the text 1, 0 and -0, lists cut at other places, kinds of arrays", () => {
    const alike: unknown[] = [
      1,
      "1",
      [1],
      0,
      -0,
      null,
      undefined,
      false,
      "false",
      [["a"], "b"],
      [["a", "b"]],
      ["ab"],
      Float64Array.of(1),
      Uint8Array.from([0, 0, 0, 0, 0, 0, 240, 63]),
      { a: 1 },
      ["a", 1],
    ];
    expect(new Set(alike.map(digestData)).size).toBe(alike.length);
  });

  it("refuses functions, and sets, maps and dates, whose content it would not see", () => {
    for (const value of [() => 1, new Set([1]), new Map([[1, 2]]), new Date(0)])
      expect(() => digestData({ a: value })).toThrow(TypeError);
  });

  it("tells apart lists of 5,000 numbers and texts of 40,000 letters that differ in the last one alone", () => {
    const numbers = Array.from({ length: 5000 }, (_, k) => k);
    const text = "a".repeat(40_000);
    const alike = [
      numbers,
      numbers.with(-1, 0),
      [text, "b"],
      [`${text}b`],
      [text, "c"],
      Float64Array.from(numbers),
    ];
    expect(new Set(alike.map(digestData)).size).toBe(alike.length);
    expect(digestData([...numbers])).toBe(digestData(numbers));
  });
});

describe("settle", () => {
  it("gives equal objects equal digests, wherever they stand, and computes them once", () => {
    const make = () => settle({ x: Float64Array.of(1, 2), name: "stars" });
    const [one, other] = [make(), make()];
    expect(digestData([one, 1])).toBe(digestData([other, 1]));
    expect(digestData([settle({ x: Float64Array.of(1, 3), name: "stars" }), 1])).not.toBe(
      digestData([one, 1]),
    );
    one.x[0] = 9;
    // Whoever settles an object promises not to do this.
    expect(digestData([one, 1])).toBe(digestData([other, 1]));
  });
});
