import { describe, expect, it } from "vitest";
import { nameSide } from "../../lib/maths/name-side.ts";

describe("nameSide", () => {
  it.each([
    [0, "right edge"],
    [-21, "right edge"],
    [-53, "lower right corner"],
    [90, "upper edge"],
    [181, "left edge"],
    [-180, "left edge"],
    [315, "lower right corner"],
  ])("names where %d degrees point to: the %s", (angleDeg, name) => {
    expect(nameSide(angleDeg)).toBe(name);
  });
});
