import { describe, expect, it } from "vitest";
import { widenForProfile } from "../../lib/field/profile-error.ts";
import { makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";

describe("widenForProfile(width, share)", () => {
  it("adds 1 % of 3.000 px in quadrature to a reach of 0.040 px: 2.950 to 3.050", () => {
    const widened = widenForProfile(makeMeasured(3, "px", 2.96, 3.04, 100), 0.01);
    expect(widened).toMatchObject({ value: 3, n: 100 });
    expect(widened.value === null ? 0 : widened.lo).toBeCloseTo(2.95, 9);
    expect(widened.value === null ? 0 : widened.hi).toBeCloseTo(3.05, 9);
  });

  it("leaves an unknown width and a share of 0 as they are", () => {
    const unknown = makeUnknown("px", "No star.");
    expect(widenForProfile(unknown)).toBe(unknown);
    expect(widenForProfile(makeMeasured(3, "px", 2.96, 3.04, 100), 0)).toMatchObject({ lo: 2.96, hi: 3.04 });
  });
});
