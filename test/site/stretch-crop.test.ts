import { describe, expect, it } from "vitest";
import { cropEnlargement, stretchCrop } from "../../lib/site/stretch-crop.ts";

describe("stretchCrop", () => {
  const star = new Uint16Array(25).fill(700);
  star[12] = 4700;
  star[13] = 900;

  it("prints the peak as 0 and the background as 255, each pixel as a square of its own", () => {
    const { grey, width } = stretchCrop(star, 5, 5);
    expect(width).toBe(5 * cropEnlargement);
    const at = (x: number, y: number) => grey[y * cropEnlargement * width + x * cropEnlargement];
    expect(at(2, 2)).toBe(0);
    expect(at(0, 0)).toBe(255);
    expect(grey.filter((value) => value === 0)).toHaveLength(cropEnlargement ** 2);
  });

  it("lifts 5 % of the peak to asinh(20 x 0.05) / asinh(20) = 23.9 % of the ink", () => {
    const { grey, width } = stretchCrop(star, 5, 5);
    const value = grey[2 * cropEnlargement * width + 3 * cropEnlargement];
    expect(value).toBe(Math.round(255 * (1 - Math.asinh(1) / Math.asinh(20))));
  });

  it("is the same for a star ten times as bright on another sky", () => {
    const bright = Float64Array.from(star, (value) => 10 * value + 123);
    expect(stretchCrop(bright, 5, 5).grey).toEqual(stretchCrop(star, 5, 5).grey);
  });

  it("leaves a flat cut-out as paper", () => {
    expect(new Set(stretchCrop(new Uint16Array(9).fill(5), 3, 3).grey)).toEqual(new Set([255]));
  });
});
