import { describe, expect, it } from "vitest";
import { findLitEdge } from "../../lib/light/lit-radius.ts";

/** Circles 1 mm apart from the centre outwards, with the least light on each, percent. */
const makeRings = (least: readonly number[]) =>
  least.map((light, rMm) => ({ rMm, mean: light + 0.3, least: light, most: light + 0.6 }));

describe("edge of the fully lit field", () => {
  it("stays at the first drop below 99 % where the light keeps falling from there", () => {
    const drop = { value: 2.4, error: 0.05 };
    expect(findLitEdge(drop, makeRings([100, 99.8, 99.2, 98.5, 97]))).toEqual(drop);
  });

  it("is not known to lie on the sensor where a spot 2 mm out is dark and every circle beyond is lit to 99 %", () => {
    expect(findLitEdge({ value: 1.9, error: 0.05 }, makeRings([100, 99.8, 98.9, 99.6, 99.5]))).toBeNull();
  });

  it("is where the light falls for good beyond a spot, between 3 and 4 mm, known to half a millimetre", () => {
    const edge = findLitEdge({ value: 0.9, error: 0.05 }, makeRings([100, 98.9, 99.8, 99.5, 98.5]));
    expect(edge?.value).toBeCloseTo(3.5, 6);
    expect(edge?.error).toBeCloseTo(Math.hypot(0.05, 0.5), 6);
  });

  it("is none where no drop was found, and the drop where no circles were measured", () => {
    expect(findLitEdge(null, makeRings([100, 99.5]))).toBeNull();
    expect(findLitEdge({ value: 2, error: 0.1 }, [])).toEqual({ value: 2, error: 0.1 });
  });
});
