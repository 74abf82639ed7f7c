import { describe, expect, it } from "vitest";
import type { Exposure, Optics, SimulatedCamera } from "../../demo/simulator/conditions.ts";
import { drawFrame } from "../../demo/simulator/draw-frame.ts";
import { evaluateField } from "../../demo/simulator/field-point.ts";
import {
  clearBand,
  colourBands,
  flatField,
  placeIsolatedStars,
  plainCamera,
  plainExposure,
  plainOptics,
} from "../../demo/simulator/presets.ts";
import { choosePsfSampling, preparePsfMaker } from "../../demo/simulator/psf.ts";
import { computePsfField } from "../../demo/simulator/psf-field.ts";
import { measurePsfTruth } from "../../demo/simulator/psf-truth.ts";
import { emptyScene, type Scene } from "../../demo/simulator/scene.ts";
import { deriveField, reducerR79 } from "../../demo/simulator/spacing.ts";
import { measureStarTruth } from "../../demo/simulator/star-truth.ts";
import { mapTruth } from "../../demo/simulator/truth-map.ts";

const noiseless: SimulatedCamera = { ...plainCamera, widthPx: 64, heightPx: 64, gainElectronsPerAdu: 0.1 };
const dark: Exposure = { ...plainExposure, skyMagnitude: 40 };

function placeOne(xPx: number, yPx: number, fluxElectrons: number): Scene {
  const placed = {
    xPx: Float64Array.of(xPx),
    yPx: Float64Array.of(yPx),
    fluxElectrons: Float64Array.of(fluxElectrons),
  };
  return { ...emptyScene, placed };
}

function measureCentroid(samples: Uint16Array, widthPx: number, bias: number): { x: number; y: number } {
  let [sum, x, y] = [0, 0, 0];
  samples.forEach((value, i) => {
    sum += value - bias;
    x += (value - bias) * (i % widthPx);
    y += (value - bias) * Math.floor(i / widthPx);
  });
  return { x: x / sum, y: y / sum };
}

describe("a drawn star", () => {
  it("stands where the truth says, y counted downwards from the upper row, within 0.05 px at 250,000 e- by plain centroid", () => {
    // The plain centroid takes in the wings, whose far parts are cut off unevenly by the frame's border.
    const camera = { ...noiseless, readNoiseElectrons: 0, gainElectronsPerAdu: 1 };
    const { samples, truth } = drawFrame(placeOne(30.27, 33.81, 250_000), plainOptics, camera, dark, 5);
    const { x, y } = measureCentroid(samples, 64, 500);
    expect(truth.xPx[0]).toBeCloseTo(30.27, 3);
    expect(truth.yPx[0]).toBeCloseTo(33.81, 3);
    expect(Math.abs(x - 30.27)).toBeLessThan(0.05);
    expect(Math.abs(y - 33.81)).toBeLessThan(0.05);
  });

  it("leaves the electrons it is said to leave, within 1.5 percent (wings beyond the frame) and four sigma", () => {
    const camera = { ...noiseless, readNoiseElectrons: 0, gainElectronsPerAdu: 1 };
    const { samples } = drawFrame(placeOne(32, 32, 250_000), plainOptics, camera, dark, 6);
    const total = samples.reduce((sum, value) => sum + value - 500, 0);
    expect(total).toBeGreaterThan(250_000 * 0.985 - 2000);
    expect(total).toBeLessThan(250_000 + 2000);
  });

  it("is the same for the same seed, another for another seed, and keeps its truth", () => {
    const draw = (seed: number) =>
      drawFrame(placeOne(32, 32, 9000), plainOptics, noiseless, plainExposure, seed);
    const [first, again, other] = [draw(7), draw(7), draw(8)];
    expect(first.samples).toEqual(again.samples);
    expect(first.samples).not.toEqual(other.samples);
    expect(first.truth).toEqual(other.truth);
  });

  it("is marked saturated when its pixels reach 65,535 ADU and not when they stay below", () => {
    const { truth } = drawFrame(placeOne(32, 32, 2_000_000), plainOptics, plainCamera, dark, 1);
    expect(truth.saturated[0]).toBe(1);
    expect(drawFrame(placeOne(32, 32, 200_000), plainOptics, plainCamera, dark, 1).truth.saturated[0]).toBe(
      0,
    );
  });
});

describe("the truth over the field", () => {
  const camera: SimulatedCamera = { ...plainCamera, widthPx: 6248, heightPx: 4176 };
  const optics: Optics = {
    ...plainOptics,
    focalLengthMm: 636,
    field: { ...flatField, defocusUm: 12, tiltX: 0.8, tiltY: -0.9, curvature: -0.35, astigmatism: -0.11 },
  };
  const night: Exposure = { ...plainExposure, seeingArcsec: 2.3 };

  it("is the same by map as by a trace for the star itself, to 0.01 percent of the width", () => {
    const sampling = choosePsfSampling(optics, night, 3.76, 100);
    const field = computePsfField(
      preparePsfMaker(optics, night, clearBand, sampling),
      optics.field,
      camera,
      0,
    );
    const shapeAt = mapTruth(field, camera.widthPx, camera.heightPx);
    for (let k = 0; k < 60; k++) {
      // A spread without a pattern: multiples of two irrational numbers.
      const [x, y] = [((k * 0.754877666) % 1) * 6247, ((k * 0.569840291) % 1) * 4175];
      const [map, trace] = [shapeAt(x, y), measureStarTruth(field, x, y)];
      expect(Math.abs(map.fwhmMajorPx / trace.fwhmMajorPx - 1)).toBeLessThan(1e-4);
      expect(Math.abs(map.fwhmMinorPx / trace.fwhmMinorPx - 1)).toBeLessThan(1e-4);
    }
  });

  it("equals the exact image's at places between nodes within 0.3 percent, the drawn blend's own contour", () => {
    const sampling = choosePsfSampling(optics, night, 3.76, 100);
    const maker = preparePsfMaker(optics, night, clearBand, sampling);
    const field = computePsfField(maker, optics.field, camera, 0);
    const places = [
      [310, 290],
      [5900, 300],
      [400, 3900],
      [6100, 4050],
      [3124, 2088],
      [4600, 900],
    ];
    for (const [x, y] of places) {
      const blend = measureStarTruth(field, x, y);
      const point = evaluateField(optics.field, (x - 3123.5) * 0.00376, (2087.5 - y) * 0.00376);
      const exact = measurePsfTruth(maker.makePsf(point));
      if (exact === null) throw new Error("no contour");
      expect(Math.abs((blend.fwhmMajorPx / exact.fwhmMajor) * sampling.oversampling - 1)).toBeLessThan(3e-3);
      expect(Math.abs((blend.fwhmMinorPx / exact.fwhmMinor) * sampling.oversampling - 1)).toBeLessThan(3e-3);
    }
  });

  it("has corner stars along the radius where the reducer is 0.8 mm too close, across it where too far", () => {
    const sampling = choosePsfSampling(optics, night, 3.76, 100);
    const maker = preparePsfMaker(optics, night, clearBand, sampling);
    const radial = (spacing: number): number[] => {
      const set = { tiltX: 0, tiltY: 0, centreMm: { x: 0, y: 0 }, focusedAtMm: 5, focusErrorUm: 0 };
      const field = computePsfField(maker, deriveField(reducerR79, spacing, set), camera, 0);
      return [20, 6227].flatMap((x) =>
        [20, 4155].map((y) => {
          const shape = measureStarTruth(field, x, y);
          const along = Math.atan2(2087.5 - y, x - 3123.5);
          const [a2, b2] = [shape.fwhmMajorPx ** 2, shape.fwhmMinorPx ** 2];
          return ((a2 - b2) / (a2 + b2)) * Math.cos(2 * ((shape.angleDeg * Math.PI) / 180 - along));
        }),
      );
    };
    for (const value of radial(-0.8)) expect(value).toBeGreaterThan(0.1);
    for (const value of radial(0.9)) expect(value).toBeLessThan(-0.1);
  });

  it("narrows nothing by symmetry: a perfect field has round stars, ellipticity below 0.02 percent", () => {
    const scene = placeIsolatedStars({
      widthPx: 300,
      heightPx: 200,
      count: 12,
      leastDistancePx: 40,
      faintestElectrons: 1e4,
      brightestElectrons: 1e5,
      seed: 4,
    });
    const { truth } = drawFrame(scene, plainOptics, { ...plainCamera, widthPx: 300, heightPx: 200 }, dark, 3);
    truth.fwhmMajorPx.forEach((major, k) => {
      expect(1 - truth.fwhmMinorPx[k] / major).toBeLessThan(2e-4);
    });
  });
});

describe("the camera", () => {
  const flat = (
    skyMagnitude: number,
    camera: SimulatedCamera,
  ): { mean: number; variance: number; third: number } => {
    const exposure = { ...plainExposure, skyMagnitude };
    const { samples } = drawFrame(emptyScene, { ...plainOptics, focalLengthMm: 8050 }, camera, exposure, 11);
    const mean = samples.reduce((sum, value) => sum + value, 0) / samples.length;
    const moment = (power: number): number =>
      samples.reduce((sum, value) => sum + (value - mean) ** power, 0) / samples.length;
    return { mean: mean - camera.biasAdu, variance: moment(2), third: moment(3) };
  };

  it.each([{ magnitude: 9.5 }, { magnitude: 12 }, { magnitude: 14 }])(
    "has Poisson variance and skewness over read noise and rounding at sky magnitude $magnitude",
    ({ magnitude }) => {
      // gain 1 e-/ADU: variance = mean + read noise 2 + 1/12; third moment = mean. 480,000 pixels, seed 11.
      const camera = { ...plainCamera, gainElectronsPerAdu: 1 };
      const { mean, variance, third } = flat(magnitude, camera);
      const expected = mean + 1.6 ** 2 + 1 / 12;
      expect(Math.abs(variance / expected - 1)).toBeLessThan(0.012);
      expect(Math.abs(third - mean)).toBeLessThan(0.012 * expected ** 1.5 + 0.03 * mean);
    },
  );

  it("has pure read noise of 1.6 e- and 1/12 of rounding where there is no light", () => {
    const { mean, variance } = flat(60, { ...plainCamera, gainElectronsPerAdu: 1 });
    expect(Math.abs(mean)).toBeLessThan(0.01);
    expect(Math.abs(variance / (1.6 ** 2 + 1 / 12) - 1)).toBeLessThan(0.01);
  });

  it("puts each colour on its own pixels: green stands alone when red and blue pass nothing (GRBG)", () => {
    const bands = colourBands.map((band) => (band.channel === "G" ? band : { ...band, widthNm: 1e-9 }));
    const camera = { ...plainCamera, widthPx: 40, heightPx: 40, cfa: "GRBG" as const };
    const { samples } = drawFrame(
      emptyScene,
      plainOptics,
      camera,
      { ...plainExposure, bands, skyMagnitude: 17 },
      1,
    );
    const mean = [0, 0, 0, 0];
    samples.forEach((value, i) => {
      mean[(i % 2) + 2 * (Math.floor(i / 40) % 2)] += (value - 500) / 400;
    });
    expect(mean[0]).toBeGreaterThan(100);
    expect(mean[3]).toBeGreaterThan(100);
    expect(Math.abs(mean[1])).toBeLessThan(1);
    expect(Math.abs(mean[2])).toBeLessThan(1);
  });
});
