import { afterEach, describe, expect, it } from "vitest";
import { recall, remember, useMemory } from "../../lib/maths/remember.ts";

afterEach(() => useMemory(null));

function openMap(keepsShort = false): Map<string, unknown> {
  const map = new Map<string, unknown>();
  useMemory({
    keepsShort,
    find: (_, key) => map.get(key),
    keep: (_, key, value) => map.set(key, value),
  });
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

describe("recall", () => {
  it("computes each time where the memory keeps no short computations, and once where it does", () => {
    let runs = 0;
    const count = () => recall("count", () => ++runs);
    openMap();
    expect([count(), count()]).toEqual([1, 2]);
    openMap(true);
    expect([count(), count()]).toEqual([3, 3]);
  });
});
