import { describe, expect, it } from "vitest";
import { estimateProfileReach, widenForProfile } from "../../lib/field/profile-error.ts";
import { makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";
import { makeStarTable } from "../../lib/stars/star-table.ts";

describe("widenForProfile(width, share)", () => {
  it("adds 1 % of 3.000 px in quadrature to a reach of 0.040 px: 2.950 to 3.050", () => {
    const widened = widenForProfile(makeMeasured(3, "px", 2.96, 3.04, 100), 0.01);
    expect(widened).toMatchObject({ value: 3, n: 100 });
    expect(widened.value === null ? 0 : widened.lo).toBeCloseTo(2.95, 9);
    expect(widened.value === null ? 0 : widened.hi).toBeCloseTo(3.05, 9);
  });

  it("leaves an unknown width and a share of 0 as they are", () => {
    const unknown = makeUnknown("px", "No star.");
    expect(widenForProfile(unknown, 0.01)).toBe(unknown);
    expect(widenForProfile(makeMeasured(3, "px", 2.96, 3.04, 100), 0)).toMatchObject({ lo: 2.96, hi: 3.04 });
  });
});

describe("estimateProfileReach(tables)", () => {
  const reachOf = (bright: number) => {
    const table = makeStarTable(400);
    table.snr.fill(30).fill(80, 0, bright);
    return estimateProfileReach([table]);
  };

  it("is 1.0 % with 168 bright stars and more, 1.6 % with 40, 4 % with 5", () => {
    expect(reachOf(168)).toBeCloseTo(0.0104, 4);
    expect(reachOf(400)).toBe(reachOf(168));
    expect(reachOf(40)).toBeCloseTo(0.016, 3);
    expect(reachOf(5)).toBeCloseTo(0.0402, 3);
  });
});
