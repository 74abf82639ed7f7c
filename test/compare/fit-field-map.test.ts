import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { describe, expect, it } from "vitest";
import { type FieldMap, type MapFrame, mapToOther } from "../../lib/compare/field-map.ts";
import { type CommonStars, fitFieldMap } from "../../lib/compare/fit-field-map.ts";
import { fitSimilarity } from "../../lib/compare/similarity.ts";
import { computePoissonLogTail } from "../../lib/maths/distributions.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";

const file = resolve(import.meta.dirname, "../references/star-maps/reference.json");
const reference = JSON.parse(readFileSync(file, "utf8")) as {
  planes: { focalLengthMm: number; ratio: number; turnDeg: number; a: number[][]; b: number[][] };
  similarity: { from: number[][]; to: number[][]; scale: number; turnDeg: number; shift: number[] };
  poisson: [number, number, number][];
};

function toColumns(points: readonly number[][]) {
  return { x: Float64Array.from(points, ([x]) => x), y: Float64Array.from(points, ([, y]) => y) };
}

const truth: FieldMap = {
  ratio: 0.73,
  turn: 2.1,
  tiltX: 0.002,
  tiltY: -0.004,
  distortionA: 0,
  distortionB: 0.004,
  stretchAlong: 0.0002,
  stretchAcross: -0.0001,
};
const frame: MapFrame = { focalLengthMm: 805, referenceTangent: 14.1 / 805, mirrored: false };

/** Stars over a sensor of 23.5 x 15.7 mm and where `map` puts them, with errors of `error` mm on b. */
function drawStars(count: number, error: number, seed: number, map = truth, seen = frame): CommonStars {
  const random = makeRandom(seed);
  const normal = makeNormalRandom(random);
  const a = { x: new Float64Array(count), y: new Float64Array(count) };
  const b = { x: new Float64Array(count), y: new Float64Array(count) };
  for (let k = 0; k < count; k++) {
    a.x[k] = (random() - 0.5) * 23.5;
    a.y[k] = (random() - 0.5) * 15.7;
    const [x, y] = mapToOther(map, seen, a.x[k], a.y[k]);
    b.x[k] = x + error * normal();
    b.y[k] = y + error * normal();
  }
  return { a, b, error: new Float64Array(count).fill(Math.max(error, 1e-5)) };
}

describe("fitFieldMap", () => {
  it("takes astropy's gnomonic planes half a degree apart for what they are: ratio 0.73 to 1e-6, residuals below 1e-6 mm", () => {
    const { focalLengthMm, ratio, a, b } = reference.planes;
    const stars = { a: toColumns(a), b: toColumns(b), error: new Float64Array(a.length).fill(1e-5) };
    const fitted = fitFieldMap(stars, {
      focalLengthMm,
      referenceTangent: 14.1 / focalLengthMm,
      mirrored: false,
    });
    expect(Math.abs((fitted?.map.ratio ?? 0) / ratio - 1)).toBeLessThan(1e-6);
    expect(fitted?.residualMm).toBeLessThan(1e-6);
    expect(Math.abs(fitted?.map.distortionB ?? 1)).toBeLessThan(1e-5);
  });

  it("finds every parameter of a map with 0.4 % distortion to its own error, 300 stars of 0.3 um (seed 3)", () => {
    const fitted = fitFieldMap(drawStars(300, 3e-4, 3), frame);
    if (fitted === null) throw new Error("no fit");
    for (const name of ["ratio", "turn", "tiltX", "tiltY", "stretchAlong", "stretchAcross"] as const) {
      expect(Math.abs(fitted.map[name] - truth[name]), name).toBeLessThan(4 * fitted.errors[name]);
    }
    const distortion = fitted.map.distortionB - fitted.map.distortionA;
    expect(Math.abs(distortion - 0.004)).toBeLessThan(4 * fitted.distortionError);
    expect(fitted.errors.ratio / truth.ratio).toBeLessThan(2e-5);
  });

  it("is within 0.02 % with 100 common stars and 0.1 % with 20, positions good to 0.2 px (0.75 um), in 40 seeds each", () => {
    for (const [count, allowed] of [
      [100, 2e-4],
      [20, 1e-3],
    ] as const) {
      for (let seed = 1; seed <= 40; seed++) {
        const fitted = fitFieldMap(drawStars(count, 7.5e-4, 100 * count + seed), frame);
        expect(Math.abs((fitted?.map.ratio ?? 0) / 0.73 - 1), `${count} stars, seed ${seed}`).toBeLessThan(
          allowed,
        );
      }
    }
  });

  it("states errors of the ratio that hold: 95 % intervals cover in 180 to 198 of 200 seeds with 60 stars", () => {
    let covered = 0;
    for (let seed = 1; seed <= 200; seed++) {
      const fitted = fitFieldMap(drawStars(60, 7.5e-4, 9000 + seed), frame);
      if (fitted !== null && Math.abs(fitted.map.ratio - 0.73) < 1.98 * fitted.errors.ratio) covered++;
    }
    expect(covered).toBeGreaterThanOrEqual(180);
    expect(covered).toBeLessThanOrEqual(198);
  });

  it("holds against one star in ten paired wrongly, up to 50 um away", () => {
    const stars = drawStars(200, 3e-4, 8);
    for (let k = 0; k < 200; k += 10) {
      stars.b.x[k] += 0.05;
      stars.b.y[k] -= 0.03;
    }
    const fitted = fitFieldMap(stars, frame);
    expect(Math.abs((fitted?.map.ratio ?? 0) / 0.73 - 1)).toBeLessThan(1e-4);
  });

  it("undoes a mirror before it turns", () => {
    const mirrored = { ...frame, mirrored: true };
    const fitted = fitFieldMap(drawStars(100, 1e-4, 4, truth, mirrored), mirrored);
    expect(fitted?.map.turn).toBeCloseTo(2.1, 5);
    expect(fitted?.map.ratio).toBeCloseTo(0.73, 5);
  });

  it("is null for two stars and for stars that all coincide", () => {
    expect(fitFieldMap(drawStars(2, 0, 1), frame)).toBeNull();
    const one = drawStars(8, 0, 1);
    one.a.x.fill(1);
    one.a.y.fill(1);
    expect(fitFieldMap(one, frame)).toBeNull();
  });
});

describe("fitSimilarity", () => {
  it("is Umeyama's, to 1e-10", () => {
    const { from, to, scale, turnDeg, shift } = reference.similarity;
    const pairs = from.map((_, k): [number, number] => [k, k]);
    const map = fitSimilarity(toColumns(from), toColumns(to), pairs);
    expect(Math.hypot(map?.real ?? 0, map?.imaginary ?? 0)).toBeCloseTo(scale, 10);
    expect((Math.atan2(map?.imaginary ?? 0, map?.real ?? 0) * 180) / Math.PI).toBeCloseTo(turnDeg, 10);
    expect(map?.shiftX).toBeCloseTo(shift[0], 8);
    expect(map?.shiftY).toBeCloseTo(shift[1], 8);
  });

  it("finds scale 0.7903, turn 3.7 degrees and shift (40, -25) again from four points", () => {
    const from = toColumns([
      [100, 200],
      [900, 250],
      [500, 800],
      [300, 600],
    ]);
    const [c, s] = [Math.cos((3.7 * Math.PI) / 180) * 0.7903, Math.sin((3.7 * Math.PI) / 180) * 0.7903];
    const to = {
      x: from.x.map((x, k) => c * x - s * from.y[k] + 40),
      y: from.y.map((y, k) => s * from.x[k] + c * y - 25),
    };
    const map = fitSimilarity(from, to, [
      [0, 0],
      [1, 1],
      [2, 2],
      [3, 3],
    ]);
    expect(Math.hypot(map?.real ?? 0, map?.imaginary ?? 0)).toBeCloseTo(0.7903, 12);
    expect(map?.shiftX).toBeCloseTo(40, 8);
    expect(map?.shiftY).toBeCloseTo(-25, 8);
  });
});

describe("computePoissonLogTail", () => {
  it("is scipy's poisson.logsf to 1e-9", () => {
    for (const [count, mean, value] of reference.poisson) {
      expect(computePoissonLogTail(count, mean), `${count} of ${mean}`).toBeCloseTo(value, 9);
    }
  });

  it("is certain for none and impossible where none are expected", () => {
    expect(computePoissonLogTail(0, 3)).toBe(0);
    expect(computePoissonLogTail(1, 0)).toBe(Number.NEGATIVE_INFINITY);
  });
});
