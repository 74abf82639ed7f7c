import { describe, expect, it } from "vitest";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import {
  backgroundBandTask,
  chooseCellPx,
  estimateBackground,
  fillMeshRow,
  sampleMesh,
} from "../../lib/stars/background.ts";
import { runInline } from "../../lib/stars/star-task.ts";
import { addStars, makePlane, scatterStars } from "./draw-stars.ts";

const [width, height] = [700, 560];

/** A frame of the given sky with normal noise, rounded to whole ADU. */
function drawSky(seed: number, sky: (x: number, y: number) => number, sigma: number) {
  const normal = makeNormalRandom(makeRandom(seed));
  const samples = new Uint16Array(width * height);
  for (let y = 0, i = 0; y < height; y++) {
    for (let x = 0; x < width; x++, i++)
      samples[i] = Math.min(65535, Math.max(0, Math.round(sky(x, y) + sigma * normal())));
  }
  return samples;
}

/** Largest error of level (in sigmas) and of noise (relative) on a lattice of pixels. */
async function judge(
  samples: Uint16Array | Float32Array,
  sky: (x: number, y: number) => number,
  sigma: number,
) {
  const { background, noise } = await estimateBackground(makePlane(samples, width, height), runInline);
  let level = 0;
  let spread = 0;
  let sum = 0;
  let n = 0;
  for (let y = 0; y < height; y += 13) {
    for (let x = 0; x < width; x += 13) {
      const error = Math.abs(sampleMesh(background, x, y) - sky(x, y)) / sigma;
      level = Math.max(level, error);
      sum += error;
      n++;
      spread = Math.max(spread, Math.abs(sampleMesh(noise, x, y) / sigma - 1));
    }
  }
  return { level, mean: sum / n, spread };
}

describe("background and noise maps", () => {
  it("an even sky of 1,000 ADU with noise 20 ADU is found within 0.12 sigma and its noise within 6 % everywhere (seed 1)", async () => {
    const { level, spread } = await judge(
      drawSky(1, () => 1000, 20),
      () => 1000,
      20,
    );
    expect(level).toBeLessThan(0.12);
    expect(spread).toBeLessThan(0.06);
  });

  it("a gradient of 0.3 ADU a pixel is followed into the corners within 0.25 sigma, and not taken for noise (seed 2)", async () => {
    const sky = (x: number, y: number) => 1000 + 0.3 * x - 0.2 * y;
    const { level, spread } = await judge(drawSky(2, sky, 20), sky, 20);
    expect(level).toBeLessThan(0.25);
    expect(spread).toBeLessThan(0.06);
  });

  it("vignetting of 40 % and a glow of 10 sigma in one corner are followed within 1.6 sigma, 0.15 sigma on average (seed 3)", async () => {
    const sky = (x: number, y: number) => {
      const r2 = ((x - width / 2) / (width / 2)) ** 2 + ((y - height / 2) / (height / 2)) ** 2;
      const glow = 400 * Math.exp(-((x - width) ** 2 + (y - height) ** 2) / (2 * 150 ** 2));
      return 2000 * (1 - 0.2 * r2) + glow;
    };
    const { level, mean, spread } = await judge(drawSky(3, sky, 40), sky, 40);
    expect(level).toBeLessThan(1.6);
    expect(mean).toBeLessThan(0.15);
    expect(spread).toBeLessThan(0.08);
  });

  it("4,000 stars, one in a hundred pixels, lift the level by under 0.45 sigma; 2 % hot pixels and a trail do not move it (seed 4)", async () => {
    const uniform = makeRandom(4);
    const image = new Float64Array(width * height).fill(500);
    addStars(image, width, height, scatterStars(4000, uniform, width, height, 200, 40000), {
      kind: "moffat",
      fwhm: 2.5,
      beta: 4,
    });
    const crowded = drawSky(5, (x, y) => image[y * width + x], 20);
    expect((await judge(crowded, () => 500, 20)).level).toBeLessThan(0.45);
    const hot = drawSky(6, (x, y) => (Math.abs(x - 1.2 * y) < 3 ? 700 : 500), 20);
    for (let k = 0; k < 0.02 * hot.length; k++) hot[Math.floor(uniform() * hot.length)] = 60000;
    const { level, spread } = await judge(hot, () => 500, 20);
    expect(level).toBeLessThan(0.2);
    expect(spread).toBeLessThan(0.1);
  });

  it("a saturated blob of 150 px and an area without values take their level and noise from around them (seed 7)", async () => {
    const whole = drawSky(7, () => 800, 15);
    const samples = Float32Array.from(whole);
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        if (x < 130 && y < 200) samples[y * width + x] = Number.NaN;
      }
    }
    const { level, spread } = await judge(samples, () => 800, 15);
    expect(level).toBeLessThan(0.2);
    expect(spread).toBeLessThan(0.1);
    for (let y = 200; y < 350; y++) for (let x = 300; x < 450; x++) whole[y * width + x] = 65535;
    const { noise } = await estimateBackground(makePlane(whole, width, height), runInline);
    for (const value of noise.values) expect(Math.abs(value / 15 - 1)).toBeLessThan(0.1);
  });

  it("a frame of one value, of NaN, of 8 x 8 pixels and of one pixel give finite maps and no noise below a whole step", async () => {
    const flat = await estimateBackground(
      makePlane(new Uint16Array(200 * 200).fill(77), 200, 200),
      runInline,
    );
    for (const value of flat.background.values) expect(value).toBeCloseTo(77, 6);
    for (const value of flat.noise.values) expect(value).toBeCloseTo(Math.sqrt(1 / 12), 6);
    const empty = await estimateBackground(
      makePlane(new Float32Array(200 * 200).fill(Number.NaN), 200, 200),
      runInline,
    );
    expect([...empty.background.values].every((value) => value === 0)).toBe(true);
    for (const side of [8, 1]) {
      const small = await estimateBackground(
        makePlane(new Uint16Array(side * side).fill(5), side, side),
        runInline,
      );
      expect([...small.background.values].every(Number.isFinite)).toBe(true);
    }
  });

  it("each colour of a filter array has its own level: R 900, G 1,500, B 600 ADU within 0.15 sigma (seed 8)", async () => {
    const levels = [900, 1500, 1500, 600];
    const samples = drawSky(8, (x, y) => levels[(x & 1) + 2 * (y & 1)], 25);
    for (const [sites, expected] of [
      [[true, false, false, false], 900],
      [[false, true, true, false], 1500],
      [[false, false, false, true], 600],
    ] as const) {
      const { background, noise } = await estimateBackground(
        makePlane(samples, width, height, sites),
        runInline,
      );
      for (const value of background.values) expect(Math.abs(value - expected)).toBeLessThan(0.15 * 25);
      for (const value of noise.values) expect(Math.abs(value / 25 - 1)).toBeLessThan(0.1);
    }
  });

  it("whole numbers stored as floats give the very maps that integers give; adding 1,000 ADU adds 1,000 (seed 9)", async () => {
    const samples = drawSky(9, (x) => 1000 + 0.1 * x, 20);
    const whole = await estimateBackground(makePlane(samples, width, height), runInline);
    const floats = await estimateBackground(makePlane(Float32Array.from(samples), width, height), runInline);
    expect(floats).toEqual(whole);
    const lifted = await estimateBackground(
      makePlane(
        samples.map((v) => v + 1000),
        width,
        height,
      ),
      runInline,
    );
    lifted.background.values.forEach((value, i) => {
      expect(value).toBeCloseTo(whole.background.values[i] + 1000, 2);
    });
    expect(lifted.noise.values).toEqual(whole.noise.values);
  });

  it("bands of mesh rows give what one job for all rows gives", () => {
    const plane = makePlane(
      drawSky(10, (x) => 1000 + x, 20),
      width,
      height,
    );
    const cellPx = chooseCellPx(plane);
    const rows = Math.round(height / cellPx);
    const whole = backgroundBandTask.run({ plane, cellPx, firstRow: 0, endRow: rows });
    const top = backgroundBandTask.run({ plane, cellPx, firstRow: 0, endRow: 3 });
    const rest = backgroundBandTask.run({ plane, cellPx, firstRow: 3, endRow: rows });
    for (const key of ["level", "sigma", "used"] as const) {
      expect([...top[key], ...rest[key]]).toEqual([...whole[key]]);
    }
  });
});

describe("reading a mesh", () => {
  it("meets the cell values at their centres, a plane everywhere, and rows as single pixels", () => {
    const map = { columns: 5, rows: 4, cellPx: 64, values: new Float32Array(20) };
    const plane = (x: number, y: number) => 3 + 0.02 * x - 0.05 * y;
    for (let i = 0; i < 20; i++)
      map.values[i] = plane(((i % 5) + 0.5) * 64 - 0.5, (Math.floor(i / 5) + 0.5) * 64 - 0.5);
    for (const [x, y] of [
      [31.5, 31.5],
      [0, 0],
      [319, 255],
      [150, 77],
      [-10, 280],
    ]) {
      expect(sampleMesh(map, x, y)).toBeCloseTo(plane(x, y), 4);
    }
    map.values[7] += 5;
    expect(sampleMesh(map, 2.5 * 64 - 0.5, 1.5 * 64 - 0.5)).toBeCloseTo(map.values[7], 5);
    const row = new Float32Array(340);
    for (const y of [-4, 0, 70, 255, 270]) {
      fillMeshRow(map, y, row);
      for (let x = 0; x < 330; x += 7) expect(row[x]).toBeCloseTo(sampleMesh(map, x, y), 4);
    }
  });
});
