import { describe, expect, it } from "vitest";
import { classify } from "../../lib/compare/judge-verdict.ts";
import { makeExact, makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";

const matters = makeExact(0.1, "px");
const difference = (value: number, lo: number, hi: number) => makeMeasured(value, "px", lo, hi, 100);

describe("classify(difference, matters) with 0.1 px that matters", () => {
  it.each([
    ["bSharper", -0.3, -0.4, -0.2],
    ["aSharper", 0.3, 0.2, 0.4],
    ["aSharper", 0.09, 0.05, 0.13],
    ["noDifference", 0.01, -0.05, 0.07],
    ["noDifference", 0.05, 0.03, 0.07],
    ["noDifference", 0, -0.1, 0.1],
    ["cannotTell", 0.02, -0.2, 0.24],
    ["cannotTell", 0.02, -0.05, 0.11],
  ])("is %s for %f px with the interval %f to %f px", (expected, value, lo, hi) => {
    expect(classify(difference(value, lo, hi), matters)).toBe(expected);
  });

  it("cannot tell where the difference or what matters is not known", () => {
    const unknown = makeUnknown("px", "No star.");
    expect(classify(unknown, matters)).toBe("cannotTell");
    expect(classify(difference(1, 0.9, 1.1), unknown)).toBe("cannotTell");
  });

  it("gives the mirrored class when the sides are exchanged", () => {
    const mirrored = { aSharper: "bSharper", bSharper: "aSharper" } as const;
    for (const [value, lo, hi] of [
      [0.3, 0.2, 0.4],
      [0.05, 0.01, 0.12],
      [0.02, -0.3, 0.3],
      [0.01, -0.02, 0.03],
    ]) {
      const forth = classify(difference(value, lo, hi), matters);
      const back = classify(difference(-value, -hi, -lo), matters);
      expect(back).toBe(forth in mirrored ? mirrored[forth as keyof typeof mirrored] : forth);
    }
  });
});
