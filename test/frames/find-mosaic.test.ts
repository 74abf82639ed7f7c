import { describe, expect, it } from "vitest";
import { drawFrame } from "../../demo/simulator/draw-frame.ts";
import {
  clearBand,
  colourBands,
  placeIsolatedStars,
  plainCamera,
  plainExposure,
  plainOptics,
} from "../../demo/simulator/presets.ts";
import { findMosaic, warnOfMosaic } from "../../lib/frames/find-mosaic.ts";
import { makeNormal, makeUniform } from "../stars/draw-stars.ts";

const [widthPx, heightPx] = [800, 600];

function drawSky(cfa: "none" | "RGGB" | "BGGR" | "GRBG" | "GBRG", seed: number, skyMagnitude = 20.5) {
  const scene = placeIsolatedStars({
    widthPx,
    heightPx,
    count: 120,
    leastDistancePx: 40,
    faintestElectrons: 1e3,
    brightestElectrons: 2e5,
    seed,
  });
  const camera = { ...plainCamera, widthPx, heightPx, cfa };
  const exposure = {
    ...plainExposure,
    skyMagnitude,
    bands: cfa === "none" ? [clearBand] : colourBands,
    skyGradient: { share: 0.3, angleDeg: 40 },
  };
  return drawFrame(scene, plainOptics, camera, exposure, seed, { truth: false }).samples;
}

/** Plain noise about a level, with what is wanted added by place in the 2 x 2 block. */
function makeNoise(seed: number, level: number, sigma: number, added: (x: number, y: number) => number) {
  const normal = makeNormal(makeUniform(seed));
  return Uint16Array.from({ length: widthPx * heightPx }, (_, k) => {
    const [x, y] = [k % widthPx, Math.floor(k / widthPx)];
    return Math.round(level + sigma * normal() + added(x, y));
  });
}

describe("findMosaic(samples, widthPx)", () => {
  it("finds the filter array of star frames drawn through each of the four patterns, and on which diagonal green lies (seeds 1-4)", () => {
    const patterns = ["RGGB", "BGGR", "GRBG", "GBRG"] as const;
    const found = patterns.map((cfa, k) => findMosaic(drawSky(cfa, k + 1), widthPx));
    expect(found).toEqual([
      { greens: "rising" },
      { greens: "rising" },
      { greens: "falling" },
      { greens: "falling" },
    ]);
  });

  it("finds none in eight star frames without one, under a sky of 18 to 21.5 magnitudes with a gradient (seeds 11-18)", () => {
    for (let seed = 11; seed <= 18; seed++) {
      expect(findMosaic(drawSky("none", seed, 18 + (seed - 11) / 2), widthPx)).toBeNull();
    }
  });

  it("finds red and blue apart with green between them, where the diagonals are alike", () => {
    const sky = [40, 60, 60, 80];
    const rising = makeNoise(21, 500, 9, (x, y) => sky[(x & 1) + 2 * (y & 1)]);
    expect(findMosaic(rising, widthPx)).toEqual({ greens: "rising" });
    const falling = makeNoise(22, 500, 9, (x, y) => sky[((x & 1) ^ 1) + 2 * (y & 1)]);
    expect(findMosaic(falling, widthPx)).toEqual({ greens: "falling" });
  });

  it("does not take a step of 3 ADU between odd and even columns or rows for one, nor pixels that differ by 0.3 % in a flat", () => {
    expect(
      findMosaic(
        makeNoise(31, 560, 10, (x) => 3 * (x & 1)),
        widthPx,
      ),
    ).toBeNull();
    expect(
      findMosaic(
        makeNoise(32, 560, 10, (_, y) => 3 * (y & 1)),
        widthPx,
      ),
    ).toBeNull();
    const shared = makeNoise(33, 30_000, 190, (x, y) => (((x ^ y) & 1) === 0 ? 90 : 0));
    expect(findMosaic(shared, widthPx)).toBeNull();
  });

  it("finds none in ten bias-like frames of noise alone, as floats with gaps, or in a frame of 50 px (seeds 101 to 200)", () => {
    for (let seed = 101; seed <= 200; seed += 11) {
      expect(
        findMosaic(
          makeNoise(seed, 500, 2, () => 0),
          widthPx,
        ),
      ).toBeNull();
    }
    const gaps = Float32Array.from(
      makeNoise(41, 500, 5, () => 0),
      (value, k) => (k % 7 === 0 ? Number.NaN : value),
    );
    expect(findMosaic(gaps, widthPx)).toBeNull();
    expect(findMosaic(new Uint16Array(2500).fill(7), 50)).toBeNull();
    expect(findMosaic(new Uint16Array(widthPx * heightPx).fill(7), widthPx)).toBeNull();
  });

  it("is said with the key to set and the two patterns that the samples allow", () => {
    expect(warnOfMosaic(drawSky("GRBG", 5), widthPx)).toMatch(/camera\.cfa .*GRBG or GBRG/);
    expect(warnOfMosaic(drawSky("none", 6), widthPx)).toBeNull();
  });
});
