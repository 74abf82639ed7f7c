import { describe, expect, it } from "vitest";
import { drawFrame } from "../../demo/simulator/draw-frame.ts";
import { placeIsolatedStars, plainCamera, plainExposure, plainOptics } from "../../demo/simulator/presets.ts";
import { makeAxisWeights, REACH_PX } from "../../lib/compare/area-weights.ts";
import { fillGreen } from "../../lib/compare/fill-green.ts";
import { lendShape } from "../../lib/compare/lend-shape.ts";
import { countCoarse, resamplePlane } from "../../lib/compare/resample-plane.ts";
import { measureSharedNoise } from "../../lib/compare/shared-noise.ts";
import { median } from "../../lib/maths/statistics.ts";
import { measurePlane } from "../../lib/stars/measure-plane.ts";
import type { LearnedShape } from "../../lib/stars/plane-measurement.ts";
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

/**
 * What pixels of `ratio` px hold of a plane of step-shaped light, by plain overlap of areas: slow and obvious. Right for light
 * that is even within each sample; of a star it counts the sample's own width twice.
 */
function overlapAreas(plane: SamplePlane, ratio: number, size: number): Float64Array {
  const half = (size - 1) / 2;
  const middle = (plane.widthPx - 1) / 2;
  const overlap = (pixel: number, sample: number) => {
    const centre = middle + (pixel - half) * ratio;
    return Math.max(
      0,
      Math.min(centre + ratio / 2, sample + 0.5) - Math.max(centre - ratio / 2, sample - 0.5),
    );
  };
  const shares = Array.from({ length: size }, (_, pixel) =>
    Float64Array.from({ length: plane.widthPx }, (__, sample) => overlap(pixel, sample)),
  );
  return Float64Array.from({ length: size * size }, (_, at) => {
    const [across, down] = [shares[at % size], shares[Math.floor(at / size)]];
    let sum = 0;
    for (let y = 0; y < plane.heightPx; y++) {
      if (down[y] === 0) continue;
      for (let x = 0; x < plane.widthPx; x++) {
        if (across[x] > 0) sum += down[y] * across[x] * plane.samples[y * plane.widthPx + x];
      }
    }
    return sum;
  });
}

describe("resamplePlane", () => {
  it("agrees with plain overlap of areas on light that changes slowly, a Gaussian of 47 px, to the 3.7e-3 of its peak that overlap itself is wrong by", () => {
    const plane = makePlane(drawGaussian(261, 1, 1.7, 20), 261);
    const coarse = resamplePlane(plane, 1.37, null);
    const plain = overlapAreas(plane, 1.37, coarse.widthPx);
    const peak = Math.max(...plain);
    // Overlap takes each sample for a step, which shifts light by up to 0.085 px along either axis: by
    // sqrt(2) 0.085 exp(-1/2) / 20 = 3.7e-3 of the peak on the steepest slope.
    for (let i = 0; i < plain.length; i++) {
      expect(Math.abs(coarse.samples[i] - plain[i])).toBeLessThan(3.7e-3 * peak);
    }
  });

  it("is thirty times nearer than plain overlap of areas to what wider pixels see of a star of 2.8 px, whose peak that lowers by 4 %", () => {
    const plane = makePlane(drawGaussian(161, 1, 0, 1.2), 161);
    const coarse = resamplePlane(plane, 1.37, null);
    const direct = drawGaussian(coarse.widthPx, 1.37, 0, 1.2);
    const plain = overlapAreas(plane, 1.37, coarse.widthPx);
    const findWorst = (values: ArrayLike<number>) =>
      Math.max(...Array.from(direct, (value, i) => Math.abs(value - values[i])));
    expect(findWorst(plain) / Math.max(...direct)).toBeGreaterThan(0.03);
    expect(30 * findWorst(coarse.samples)).toBeLessThan(findWorst(plain));
  });

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

/** A star field and the noise that its measuring is told of. */
function measure(
  samples: Float32Array | Uint16Array,
  side: [number, number],
  ratio: number,
  more: MeasureMore = {},
) {
  const { noiseFactor = 1, learned = null } = more;
  const plane = { widthPx: side[0], heightPx: side[1], samples, sites: everySite, noiseFactor };
  const noise = {
    gainElectronsPerAdu: plainCamera.gainElectronsPerAdu,
    readNoiseElectrons: 1.6,
    saturationAdu: samples instanceof Float32Array ? 65535 * ratio ** 2 : 65535,
  };
  return measurePlane(plane, "L", noise, runInline, learned);
}

interface MeasureMore {
  noiseFactor?: number;
  learned?: LearnedShape | null;
}

const readWidth = (table: StarTable, row: number) =>
  Math.sqrt(table.fwhmMajorPx[row] * table.fwhmMinorPx[row]);

/** Ratio of widths, star by star, of two tables about the same middle, and of their stated errors. */
function compareWidths(
  one: StarTable,
  oneSide: [number, number],
  other: StarTable,
  otherSide: [number, number],
) {
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
    const ratio = readWidth(one, star.row) / readWidth(other, same.row);
    ratios.push(ratio);
    pulls.push(Math.abs(Math.log(ratio)) / Math.hypot(one.fwhmErr[star.row], other.fwhmErr[same.row]));
  }
  return { stars: ratios.length, ratio: median(ratios), pull: 1.4826 * median(pulls) };
}

const fineSide: [number, number] = [1200, 900];

/** One sky on the finer grid and, with noise of its own, drawn directly on a grid `ratio` times as coarse. */
function drawOnBoth(ratio: number, seeingArcsec: number, seed: number) {
  const coarseSide: [number, number] = [2 * Math.floor(600 / ratio), 2 * Math.floor(450 / ratio)];
  const scene = placeIsolatedStars({
    widthPx: fineSide[0],
    heightPx: fineSide[1],
    count: 250,
    leastDistancePx: 40,
    faintestElectrons: 8000,
    brightestElectrons: 300_000,
    seed,
  });
  const { placed } = scene;
  if (placed === null) throw new Error("no stars");
  const move = (places: Float64Array, axis: 0 | 1) =>
    places.map((place) => (coarseSide[axis] - 1) / 2 + (place - (fineSide[axis] - 1) / 2) / ratio);
  const moved = { ...placed, xPx: move(placed.xPx, 0), yPx: move(placed.yPx, 1) };
  const draw = (
    part: typeof scene,
    [widthPx, heightPx]: [number, number],
    pixelPitchUm: number,
    noise: number,
  ) =>
    drawFrame(
      part,
      plainOptics,
      { ...plainCamera, widthPx, heightPx, pixelPitchUm },
      { ...plainExposure, seeingArcsec },
      noise,
    );
  const direct = draw({ ...scene, placed: moved }, coarseSide, 3.76 * ratio, 100 + seed);
  const { fwhmMajorPx, fwhmMinorPx } = direct.truth;
  return {
    fine: draw(scene, fineSide, 3.76, seed).samples,
    direct: direct.samples,
    coarseSide,
    truePx: median(Array.from(fwhmMajorPx, (major, k) => Math.sqrt(major * fwhmMinorPx[k]))),
  };
}

describe("a drawn frame brought to a coarser grid and measured with the profile it taught on its own", () => {
  for (const [ratio, seeingArcsec, px, seed] of [
    [1.2658, 2.6, 2.3, 1],
    [1.37, 2.8, 2.3, 2],
    [2, 4, 2.2, 3],
    [1.2658, 1.9, 1.8, 4],
    [1.37, 1.6, 1.45, 5],
  ] as const) {
    it(`measures the same width as the same sky drawn on that grid, within 0.5 %, and the true one within 1 %: ratio ${ratio}, ${px} px there (seed ${seed})`, async () => {
      const { fine, direct, coarseSide, truePx } = drawOnBoth(ratio, seeingArcsec, seed);
      expect(truePx).toBeGreaterThan(px - 0.1);
      expect(truePx).toBeLessThan(px + 0.1);
      const { learned } = await measure(fine, fineSide, 1);
      const coarse = resamplePlane(
        { widthPx: fineSide[0], heightPx: fineSide[1], samples: fine, sites: everySite },
        ratio,
        65535,
      );
      const side: [number, number] = [coarse.widthPx, coarse.heightPx];
      const lend = ([widthPx, heightPx]: [number, number]) =>
        lendShape(learned, { widthPx: fineSide[0], heightPx: fineSide[1] }, { widthPx, heightPx }, ratio);
      const noiseFactor = measureSharedNoise(everySite, ratio);
      const resampled = await measure(coarse.samples, side, ratio, { noiseFactor, learned: lend(side) });
      // The same profile for both: what resampling does is asked here, not what few pixels teach of a profile.
      const drawn = await measure(direct, coarseSide, ratio, { learned: lend(coarseSide) });
      const found = compareWidths(resampled.stars, side, drawn.stars, coarseSide);
      expect(found.stars).toBeGreaterThan(180);
      expect(Math.abs(found.ratio - 1)).toBeLessThan(0.005);
      const rows = listUsableStars(resampled.stars);
      const width = median(rows.map((row) => readWidth(resampled.stars, row)));
      expect(Math.abs(width / truePx - 1)).toBeLessThan(0.01);
      // Errors stated of both explain how their stars differ: the noise is told right.
      expect(found.pull).toBeGreaterThan(0.7);
      expect(found.pull).toBeLessThan(1.5);
    });
  }
});
