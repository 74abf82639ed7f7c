import { describe, expect, it } from "vitest";
import { fadeWing, flagBlends } from "../../lib/stars/flag-blends.ts";
import { STAR_FLAGS } from "../../lib/stars/star-table.ts";

function flagPair(distanceFwhm: number, ratio: number, fwhmPx = 3): boolean {
  const stars = {
    xPx: Float64Array.of(100, 100 + distanceFwhm * fwhmPx),
    yPx: Float64Array.of(50, 50),
    fluxAdu: Float64Array.of(1000, 1000 * ratio),
    flags: new Uint16Array(2),
  };
  flagBlends(stars, fwhmPx);
  return (stars.flags[0] & STAR_FLAGS.blended) !== 0;
}

describe("blended stars", () => {
  it("the wing reckoned with is half the peak at half a FWHM (definition) and 2 % at 1.6 FWHM (Moffat of exponent 3)", () => {
    expect(fadeWing(0.5)).toBeCloseTo(0.5, 12);
    expect(fadeWing(1.607)).toBeCloseTo(0.02, 4);
  });

  for (const [ratio, limit] of [
    [0.1, 1.31],
    [1, 2.107],
    [10, 3.08],
    [100, 4.4],
  ]) {
    it(`a neighbour of ${ratio} times the light counts up to ${limit} FWHM and not beyond, at any width`, () => {
      for (const fwhmPx of [1.5, 3, 9]) {
        expect(flagPair(limit - 0.06, ratio, fwhmPx)).toBe(true);
        expect(flagPair(limit + 0.06, ratio, fwhmPx)).toBe(false);
      }
    });
  }

  it("a neighbour fifty times fainter or less changes nothing unless it sits in the core, and hot pixels do not count", () => {
    expect(flagPair(1.2, 0.01)).toBe(false);
    const stars = {
      xPx: Float64Array.of(10, 12),
      yPx: Float64Array.of(10, 10),
      fluxAdu: Float64Array.of(100, 100),
      flags: Uint16Array.of(0, STAR_FLAGS.spike),
    };
    flagBlends(stars, 3);
    expect(stars.flags[0]).toBe(0);
  });
});
