import { describe, expect, it } from "vitest";
import { drawFrame } from "../../demo/simulator/draw-frame.ts";
import { placeIsolatedStars, plainCamera, plainExposure, plainOptics } from "../../demo/simulator/presets.ts";
import { makeAxisWeights, REACH_PX } from "../../lib/compare/area-weights.ts";
import { fillGreen } from "../../lib/compare/fill-green.ts";
import { countCoarse, resamplePlane } from "../../lib/compare/resample-plane.ts";
import { measureSharedNoise } from "../../lib/compare/shared-noise.ts";
import { median } from "../../lib/maths/statistics.ts";
import { measurePlane } from "../../lib/stars/measure-plane.ts";
import type { SamplePlane } from "../../lib/stars/samples.ts";
import { listUsableStars, type StarTable } from "../../lib/stars/star-table.ts";
import { runInline } from "../../lib/stars/star-task.ts";

const everySite = [true, true, true, true] as const;

/** erf by its series (DLMF 7.6.1): exact enough below 4. */
function computeErf(x: number): number {
  let sum = 0;
  let term = x;
  for (let n = 0; n < 80; n++) {
    sum += term / (2 * n + 1);
    term *= (-x * x) / (n + 1);
  }
  return Math.max(-1, Math.min(1, (2 / Math.sqrt(Math.PI)) * sum));
}

/** A Gaussian star's light over pixels of `side` in both directions, in closed form. */
function drawGaussian(size: number, side: number, at: number, sigma: number): Float32Array {
  const light = Float64Array.from({ length: size }, (_, k) => {
    const edge = (place: number) => {
      const z = (((k + place - (size - 1) / 2) * side - at) / sigma) * Math.SQRT1_2;
      return Math.abs(z) > 4 ? Math.sign(z) : computeErf(z);
    };
    return (edge(0.5) - edge(-0.5)) / 2;
  });
  return Float32Array.from(
    { length: size * size },
    (_, i) => 1e4 * light[i % size] * light[Math.floor(i / size)],
  );
}

function makePlane(
  samples: Float32Array,
  size: number,
  sites: SamplePlane["sites"] = everySite,
): SamplePlane {
  return { widthPx: size, heightPx: size, samples, sites };
}

describe("resamplePlane", () => {
  it("gives what pixels 1.37 times as wide would have seen of a Gaussian star of 2.8 px, to 1e-3 of its peak", () => {
    for (const at of [0, 0.21, -0.4]) {
      const coarse = resamplePlane(makePlane(drawGaussian(161, 1, at, 1.2), 161), 1.37, null);
      const direct = drawGaussian(coarse.widthPx, 1.37, at, 1.2);
      const peak = Math.max(...direct);
      for (let i = 0; i < direct.length; i++) {
        expect(Math.abs(coarse.samples[i] - direct[i])).toBeLessThan(1e-3 * peak);
      }
    }
  });

  it("keeps an even field even and its light: 100 ADU become 100 times the ratio squared", () => {
    const coarse = resamplePlane(makePlane(new Float32Array(160 * 160).fill(100), 160), 1.5, null);
    for (const value of coarse.samples) expect(value).toBeCloseTo(225, 3);
  });

  it("leaves a plane as it is at ratio 1, to 1e-3", () => {
    const samples = drawGaussian(120, 1, 0, 1.3);
    const same = resamplePlane(makePlane(samples, 120), 1, null);
    const margin = (120 - same.widthPx) / 2;
    for (let y = 0; y < same.heightPx; y++) {
      for (let x = 0; x < same.widthPx; x++) {
        const before = samples[(y + margin) * 120 + x + margin];
        expect(Math.abs(same.samples[y * same.widthPx + x] - before)).toBeLessThan(1);
      }
    }
  });

  it("is the mirror image of what it makes of the mirror image", () => {
    const samples = drawGaussian(140, 1, 3.3, 1.4);
    const turned = samples.slice().reverse();
    const [one, other] = [samples, turned].map(
      (part) => resamplePlane(makePlane(part, 140), 1.7, null).samples,
    );
    for (let i = 0; i < one.length; i++) expect(other[one.length - 1 - i]).toBeCloseTo(one[i], 2);
  });

  it("marks what a saturated sample reaches as saturated, and what lies near NaN as NaN, and nothing far away", () => {
    const samples = new Float32Array(160 * 160).fill(10);
    samples[80 * 160 + 80] = 60_000;
    samples[80 * 160 + 20] = Number.NaN;
    const { samples: values, widthPx } = resamplePlane(makePlane(samples, 160), 2, 60_000);
    const middle = Math.floor(widthPx / 2);
    expect(Math.max(...values.filter(Number.isFinite))).toBe(240_000);
    expect(values.filter((value) => value === 240_000).length).toBeLessThanOrEqual(9);
    expect(values[middle * widthPx]).toBeNaN();
    expect(values[2]).toBeCloseTo(40, 3);
  });

  it("refuses a plane that its neighbourhoods do not fit into", () => {
    expect(countCoarse(2 * REACH_PX, 1.5)).toBe(0);
    expect(() => resamplePlane(makePlane(new Float32Array(900), 30), 1.5, null)).toThrow(RangeError);
    expect(() => makeAxisWeights(60, 3, 2, 1.5)).toThrow(RangeError);
  });
});

describe("fillGreen", () => {
  it("fills the chequerboard of a Gaussian star of 4 px between its samples to 2e-3 of the peak, where it can hold all but 1e-3", () => {
    const samples = drawGaussian(80, 1, 0.3, 1.7);
    const whole = fillGreen(makePlane(samples, 80, [false, true, true, false]), null).samples;
    const peak = Math.max(...samples);
    for (let y = 14; y < 66; y++) {
      for (let x = 14; x < 66; x++) {
        expect(Math.abs(whole[y * 80 + x] - samples[y * 80 + x])).toBeLessThan(2e-3 * peak);
      }
    }
  });
});

describe("measureSharedNoise", () => {
  it("is near 1 for a plane with every sample, below 1.7 for green, and grows with what neighbours share", () => {
    const plain = measureSharedNoise(everySite, 1.37);
    const green = measureSharedNoise([true, false, false, true], 1.37);
    expect(plain).toBeGreaterThan(0.9);
    expect(plain).toBeLessThan(1.05);
    expect(green).toBeGreaterThan(plain);
    expect(green).toBeLessThan(1.7);
  });
});

async function measure(
  samples: Float32Array | Uint16Array,
  side: [number, number],
  ratio: number,
  noiseFactor = 1,
) {
  const plane = { widthPx: side[0], heightPx: side[1], samples, sites: everySite, noiseFactor };
  const level = samples instanceof Float32Array ? 65535 * ratio ** 2 : 65535;
  const noise = {
    gainElectronsPerAdu: plainCamera.gainElectronsPerAdu,
    readNoiseElectrons: 1.6,
    saturationAdu: level,
  };
  return (await measurePlane(plane, "L", noise, runInline)).stars;
}

/** Ratio of widths, star by star, of two tables about the same middle, and of their stated errors. */
function compareWidths(
  one: StarTable,
  oneSide: [number, number],
  other: StarTable,
  otherSide: [number, number],
) {
  const width = (table: StarTable, row: number) => Math.sqrt(table.fwhmMajorPx[row] * table.fwhmMinorPx[row]);
  const places = (table: StarTable, [w, h]: [number, number]) =>
    listUsableStars(table).map((row) => ({
      row,
      x: table.xPx[row] - (w - 1) / 2,
      y: table.yPx[row] - (h - 1) / 2,
    }));
  const targets = places(other, otherSide);
  const ratios: number[] = [];
  const pulls: number[] = [];
  for (const star of places(one, oneSide)) {
    const same = targets.find(({ x, y }) => Math.hypot(x - star.x, y - star.y) < 1);
    if (same === undefined) continue;
    const ratio = width(one, star.row) / width(other, same.row);
    ratios.push(ratio);
    pulls.push(Math.abs(Math.log(ratio)) / Math.hypot(one.fwhmErr[star.row], other.fwhmErr[same.row]));
  }
  return { stars: ratios.length, ratio: median(ratios), pull: 1.4826 * median(pulls) };
}

describe("a drawn frame brought to a coarser grid", () => {
  for (const [ratio, seeingArcsec, seed] of [
    [1.2658, 2.6, 1],
    [1.37, 2.8, 2],
    [2, 4, 3],
  ] as const) {
    it(`measures the same width as the same sky drawn on that grid, within 0.5 %: ratio ${ratio}, seeing ${seeingArcsec} arcsec, seed ${seed}`, async () => {
      const fine: [number, number] = [1200, 900];
      const coarse: [number, number] = [2 * Math.floor(600 / ratio), 2 * Math.floor(450 / ratio)];
      const scene = placeIsolatedStars({
        widthPx: fine[0],
        heightPx: fine[1],
        count: 250,
        leastDistancePx: 40,
        faintestElectrons: 8000,
        brightestElectrons: 300_000,
        seed,
      });
      const move = (places: Float64Array, axis: 0 | 1) =>
        places.map((place) => (coarse[axis] - 1) / 2 + (place - (fine[axis] - 1) / 2) / ratio);
      const { placed } = scene;
      if (placed === null) throw new Error("no stars");
      const moved = { ...placed, xPx: move(placed.xPx, 0), yPx: move(placed.yPx, 1) };
      const exposure = { ...plainExposure, seeingArcsec };
      const draw = (part: typeof scene, size: [number, number], pitch: number, noise: number) =>
        drawFrame(
          part,
          plainOptics,
          { ...plainCamera, widthPx: size[0], heightPx: size[1], pixelPitchUm: pitch },
          exposure,
          noise,
          { truth: false },
        ).samples;
      const direct = draw({ ...scene, placed: moved }, coarse, 3.76 * ratio, 100 + seed);
      const source = draw(scene, fine, 3.76, seed);
      const { samples, widthPx, heightPx } = resamplePlane(
        { widthPx: fine[0], heightPx: fine[1], samples: source, sites: everySite },
        ratio,
        65535,
      );
      const resampled = await measure(
        samples,
        [widthPx, heightPx],
        ratio,
        measureSharedNoise(everySite, ratio),
      );
      const found = compareWidths(
        resampled,
        [widthPx, heightPx],
        await measure(direct, coarse, ratio),
        coarse,
      );
      expect(found.stars).toBeGreaterThan(180);
      expect(Math.abs(found.ratio - 1)).toBeLessThan(0.005);
      // Errors stated of both explain how their stars differ: the noise is told right.
      expect(found.pull).toBeGreaterThan(0.7);
      expect(found.pull).toBeLessThan(1.5);
    });
  }
});
