import { describe, expect, it } from "vitest";
import { hasOneScale } from "../../lib/draw/one-scale.ts";
import type { Comparison } from "../../lib/report/results.ts";

type Side = Comparison["sides"]["a"];

/** A side of which only the scale matters: pixels of `umPerPx` behind `focalLengthMm`. */
function makeSide(focalLengthMm: number, umPerPx: number): Side {
  const scale = { focalLengthMm, umPerPx, arcsecPerPx: (206.264806 * umPerPx) / focalLengthMm };
  return { scale } as unknown as Side;
}

describe("hasOneScale(comparison)", () => {
  it.each([
    [635.95, 3.76, 635.95, 3.76, true],
    [635.95, 3.76, 637, 3.76, true],
    [805, 3.76, 635.95, 3.76, false],
    [635.95, 3.76, 635.95, 2.9, false],
  ])("of %f mm with pixels of %f um and %f mm with %f um is %s", (focalA, umA, focalB, umB, same) => {
    expect(hasOneScale({ sides: { a: makeSide(focalA, umA), b: makeSide(focalB, umB) } })).toBe(same);
  });

  it("is not told where a side has no scale", () => {
    const unknown = { scale: null } as unknown as Side;
    expect(hasOneScale({ sides: { a: makeSide(805, 3.76), b: unknown } })).toBe(false);
  });
});
