import { describe, expect, it } from "vitest";
import { stretchCrop } from "../../lib/site/stretch-crop.ts";

describe("stretchCrop", () => {
  const star = new Uint16Array(25).fill(700);
  star[12] = 4700;
  star[13] = 900;

  it("prints the peak as 0, the background as 255 and each pixel once", () => {
    const grey = stretchCrop(star, 5, 5);
    expect(grey).toHaveLength(25);
    expect([grey[12], grey[0]]).toEqual([0, 255]);
    expect(grey.filter((value) => value === 0)).toHaveLength(1);
  });

  it("lifts 5 % of the peak to asinh(20 x 0.05) / asinh(20) = 23.9 % of the ink", () => {
    expect(stretchCrop(star, 5, 5)[13]).toBe(Math.round(255 * (1 - Math.asinh(1) / Math.asinh(20))));
  });

  it("is the same for a star ten times as bright on another sky", () => {
    const bright = Float64Array.from(star, (value) => 10 * value + 123);
    expect(stretchCrop(bright, 5, 5)).toEqual(stretchCrop(star, 5, 5));
  });

  it("leaves a flat cut-out as paper", () => {
    expect(new Set(stretchCrop(new Uint16Array(9).fill(5), 3, 3))).toEqual(new Set([255]));
  });
});
