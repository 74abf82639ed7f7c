import { afterEach, describe, expect, it } from "vitest";
import { digestData, remember, useMemory } from "../../lib/maths/remember.ts";

afterEach(() => useMemory(null));

function openMap(): Map<string, unknown> {
  const map = new Map<string, unknown>();
  useMemory({ find: (_, key) => map.get(key), keep: (_, key, value) => map.set(key, value) });
  return map;
}

describe("remember", () => {
  it("computes once for equal inputs and again for inputs that differ in the last bit of one number", () => {
    openMap();
    let runs = 0;
    const square = (x: number) =>
      remember(
        "square",
        (values: Float64Array) => {
          runs++;
          return values[0] * values[0];
        },
        Float64Array.of(x),
      );
    expect([square(0.1), square(0.1), runs]).toEqual([0.1 * 0.1, 0.1 * 0.1, 1]);
    expect(square(0.1 + Number.EPSILON / 8)).not.toBe(square(0.1));
    expect(runs).toBe(2);
  });

  it("keeps computations of different names apart, and computes each time without a memory", () => {
    openMap();
    expect([remember("a", () => "a"), remember("b", () => "b")]).toEqual(["a", "b"]);
    useMemory(null);
    expect(remember("a", () => "anew")).toBe("anew");
  });
});

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

  it("refuses a function, which is no data", () => {
    expect(() => digestData({ a: () => 1 })).toThrow(TypeError);
  });
});
