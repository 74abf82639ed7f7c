import { describe, expect, it } from "vitest";
import { stateChange } from "../../lib/maths/state-quantity.ts";

const ratio = (value: number, lo: number, hi: number) => ({ value, lo, hi, n: 9, unit: "ratio" as const });

describe("stateChange", () => {
  it.each([
    [ratio(1.376, 1.365, 1.388), "38 % (37 to 39 %)"],
    [ratio(1.012, 1.01, 1.014), "1.2 % (1.0 to 1.4 %)"],
    [ratio(1.05, 1.02, 1.08), "5 % (2 to 8 %)"],
    [ratio(0.9991, 0.9961, 1.0021), "−0.1 % (−0.4 to 0.2 %)"],
  ])("tells %j as %s, a small change with the digits that its interval bears", (quantity, words) => {
    expect(stateChange(quantity)).toBe(words);
  });
});
