import { describe, expect, it } from "vitest";
import { openResidentMemory } from "../../lib/commands/resident-memory.ts";

describe("openResidentMemory", () => {
  it("holds 100 bytes and forgets first what was not asked for the longest", () => {
    const memory = openResidentMemory(100);
    memory.keep("a", 1, 40);
    memory.keep("b", 2, 40);
    expect(memory.find("a")).toBe(1);
    memory.keep("c", 3, 40);
    expect([memory.find("a"), memory.find("b"), memory.find("c")]).toEqual([1, undefined, 3]);
  });

  it("counts a thing that is kept again once, and leaves out one that is too large by itself", () => {
    const memory = openResidentMemory(100);
    for (let k = 0; k < 5; k++) memory.keep("a", k, 40);
    memory.keep("b", 2, 60);
    memory.keep("c", 3, 101);
    expect([memory.find("a"), memory.find("b"), memory.find("c")]).toEqual([4, 2, undefined]);
  });
});
