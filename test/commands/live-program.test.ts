import { describe, expect, it } from "vitest";
import { nameModule } from "../../lib/commands/live-program.ts";

describe("nameModule", () => {
  it("gives one module in two copies of the project two names, as what is made of it holds its address", () => {
    const names = ["/one", "/other"].map((root) => nameModule("lib/maths/random.ts", "digest", root));
    expect(names[0]).toMatch(/^[0-9a-f]{24}-random\.mjs$/);
    expect(names[1]).not.toBe(names[0]);
    expect(nameModule("lib/maths/random.ts", "edited", "/one")).not.toBe(names[0]);
  });
});
