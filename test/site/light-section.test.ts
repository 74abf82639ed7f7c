import { describe, expect, it } from "vitest";
import { makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";
import { sayFlatness } from "../../lib/site/light-section.ts";

const at = (value: number, half: number) => makeMeasured(value, "mm", value - half, value + half, 100);

describe("sayFlatness(centre)", () => {
  it("says how far the brightest point of nearly flat light is known where that is worse than 0.5 mm", () => {
    expect(sayFlatness({ x: at(11.7, 1.36), y: at(7, 0.42) })).toEqual([
      "The light is so flat about its brightest point that the point’s place is known only to 1.4 mm along x and 0.4 mm along y.",
    ]);
  });

  it("says nothing of a point known to 0.5 mm, or of none", () => {
    expect(sayFlatness({ x: at(1, 0.5), y: at(0, 0.2) })).toEqual([]);
    expect(sayFlatness({ x: makeUnknown("mm", "no map"), y: at(0, 2) })).toEqual([]);
  });
});
