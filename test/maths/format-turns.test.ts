import { describe, expect, it } from "vitest";
import { formatTurns } from "../../lib/maths/format-turns.ts";

describe("turns of a screw as a hand sets them", () => {
  it("are told to the nearest 15 degrees in lowest terms, whichever way the screw turns", () => {
    expect(formatTurns(0.028)).toBe("1/24 turn");
    expect(formatTurns(-0.083)).toBe("1/12 turn");
    expect(formatTurns(0.5)).toBe("1/2 turn");
    expect(formatTurns(-0.99)).toBe("1 turn");
    expect(formatTurns(1.26)).toBe("1 1/4 turns");
    expect(formatTurns(2.29)).toBe("2 7/24 turns");
  });

  it("are none below 7.5 degrees and where nothing is known", () => {
    expect(formatTurns(0.0208)).toBeNull();
    expect(formatTurns(0)).toBeNull();
    expect(formatTurns(Number.NaN)).toBeNull();
    expect(formatTurns(Number.POSITIVE_INFINITY)).toBeNull();
  });
});
