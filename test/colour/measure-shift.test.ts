import { describe, expect, it } from "vitest";
import { fitShift } from "../../lib/colour/fit-shift.ts";
import {
  computeCubicShare,
  computeHalfWidth,
  type Estimate,
  measureShift,
} from "../../lib/colour/measure-shift.ts";
import { layOutDesign, type ShiftStars, type ShiftTerms, writeRows } from "../../lib/colour/shift-model.ts";
import { fitLeastSquares } from "../../lib/maths/least-squares.ts";
import { type SimulatedShift, sensor, simulateShifts } from "./simulate-shifts.ts";

const holds = (estimate: Estimate, truth: number): boolean =>
  Math.abs(estimate.value - truth) <= computeHalfWidth(estimate);

/** Share of simulations whose 95 % interval holds the truth, and the errors made. */
function repeat(count: number, make: (seed: number) => SimulatedShift, truth: number, ownPointing = false) {
  const errors: number[] = [];
  let [lateral, x, y] = [0, 0, 0];
  for (let k = 0; k < count; k++) {
    const wanted = make(k);
    const measure = measureShift(simulateShifts(wanted), sensor, ownPointing)!;
    errors.push(measure.lateral.value - truth);
    if (holds(measure.lateral, truth)) lateral++;
    if (measure.constant === null) continue;
    if (holds(measure.constant.x, wanted.shift?.x ?? 0)) x++;
    if (holds(measure.constant.y, wanted.shift?.y ?? 0)) y++;
  }
  return { errors, lateral: lateral / count, x: x / count, y: y / count };
}

const allTerms: ShiftTerms = {
  ownPointing: false,
  cubic: true,
  shear: true,
  quadratic: true,
  colour: true,
};

describe("shift between two channels", () => {
  it("returns linear, cubic, shift and star-colour terms exactly where nothing is noisy", () => {
    const stars = simulateShifts({
      seed: 1,
      stars: 200,
      linear: 1.3,
      cubic: -0.4,
      shift: { x: 0.7, y: -1.1 },
      perColour: { lateral: 0.25, shiftY: 0.5 },
      noiseUm: 0,
    });
    const measure = measureShift(stars, sensor, false)!;
    expect(measure.lateral.value).toBeCloseTo(0.9, 9);
    expect(measure.cubic.value).toBeCloseTo(-0.4, 9);
    expect(measure.constant!.x.value).toBeCloseTo(0.7, 9);
    expect(measure.constant!.y.value).toBeCloseTo(-1.1, 9);
    expect(measure.perColour!.lateral.value).toBeCloseTo(0.25, 9);
    expect(measure.perColour!.y.value).toBeCloseTo(0.5, 9);
    const ppmPerUm = 1000 / sensor.halfDiagonalMm;
    expect(measure.scalePpm.value).toBeCloseTo((1.3 - 0.4 * computeCubicShare(sensor)) * ppmPerUm, 7);
  });

  it("counts the mean scale as the best straight line through r and r3 over the sensor, by 250,000 points", () => {
    let [r2, r4] = [0, 0];
    for (let i = 0; i < 500; i++) {
      for (let j = 0; j < 500; j++) {
        const x = ((i + 0.5) / 500 - 0.5) * (sensor.widthMm / sensor.halfDiagonalMm);
        const y = ((j + 0.5) / 500 - 0.5) * (sensor.heightMm / sensor.halfDiagonalMm);
        r2 += x * x + y * y;
        r4 += (x * x + y * y) ** 2;
      }
    }
    // The midpoint rule's own error is 1e-5.
    expect(Math.abs(computeCubicShare(sensor) - r4 / r2)).toBeLessThan(1e-4);
  });

  it("equals a plain weighted least-squares fit of all rows where no star stands out", () => {
    const stars = simulateShifts({ seed: 2, stars: 400, linear: 1, noiseUm: 0.2 });
    // Cut to stars well inside, so that none is held back and none adds to the scatter.
    const fit = fitShift(stars, allTerms, sensor)!;
    const design = layOutDesign(allTerms, 1);
    const rows: number[] = [];
    const observed: number[] = [];
    const weights: number[] = [];
    for (let row = 0; row < stars.xMm.length; row++) {
      const [x, y] = [new Float64Array(design.columns), new Float64Array(design.columns)];
      const [xMm, yMm, colour] = [stars.xMm[row], stars.yMm[row], stars.colour[row]];
      writeRows(design, sensor, { xMm, yMm, colour, frame: 0 }, x, y);
      rows.push(...x, ...y);
      observed.push(stars.dxUm[row], stars.dyUm[row]);
      weights.push(fit.weight[row], fit.weight[row]);
    }
    const twin = fitLeastSquares(rows, observed, design.columns, { weights })!;
    twin.coefficients.forEach((value, k) => {
      expect(fit.coefficients[k]).toBeCloseTo(value, 5);
    });
  });

  it("has the right interval for lateral colour and shift over 200 fields of 500 stars: 92 to 98 of 100 hold the truth", () => {
    const shift = { x: 1, y: -0.5 };
    const told = repeat(200, (k) => ({ seed: 100_000 + k, stars: 500, linear: 1, cubic: 0.3, shift }), 1.3);
    // 95 % of 200: two sigmas of the count are 3 %.
    for (const share of [told.lateral, told.x, told.y]) {
      expect(share).toBeGreaterThan(0.915);
      expect(share).toBeLessThanOrEqual(0.985);
    }
    const rms = Math.sqrt(told.errors.reduce((sum, error) => sum + error ** 2, 0) / 200);
    expect(1.96 * rms).toBeLessThan(0.1);
  });

  it("reports none where there is none, with 1.4 um (1 arcsec at 293 mm) of dispersion that differs by star colour: 90 of 100", () => {
    const told = repeat(
      100,
      (k) => ({
        seed: 200_000 + k,
        stars: 500,
        shift: { x: 0.3, y: 1.38 },
        perColour: { lateral: 0, shiftY: 0.3 },
        mismatched: 0.03,
      }),
      0,
    );
    expect(told.lateral).toBeGreaterThanOrEqual(0.9);
    expect(Math.max(...told.errors.map(Math.abs))).toBeLessThan(0.16);
  });

  it("keeps the interval right where a star errs alike in three frames: 36 of 40 hold", () => {
    const make = (k: number) => ({ seed: 300_000 + k, stars: 300, frames: 3, linear: 1, starNoiseUm: 0.15 });
    expect(repeat(40, make, 1).lateral).toBeGreaterThanOrEqual(0.9);
  });

  it("takes frames of their own pointing as the unit: scales that scatter by 0.2 um lie in 37 of 40 intervals", () => {
    const make = (k: number) => ({
      seed: 400_000 + k,
      stars: 200,
      frames: 3,
      linear: 1,
      pointing: true,
      frameScaleUm: 0.2,
    });
    const told = repeat(40, make, 1, true);
    expect(told.lateral).toBeGreaterThanOrEqual(0.925);
  });

  it("leaves no shift of the field to frames pointed by themselves", () => {
    const stars = simulateShifts({ seed: 5, stars: 100, frames: 2, pointing: true });
    expect(measureShift(stars, sensor, true)!.constant).toBeNull();
  });

  it("mirrored left to right keeps the lateral colour and turns the shift over", () => {
    const stars = simulateShifts({ seed: 6, stars: 300, linear: 1, shift: { x: 0.4, y: 0.2 } });
    const mirrored: ShiftStars = {
      ...stars,
      xMm: stars.xMm.map((x) => -x),
      dxUm: stars.dxUm.map((dx) => -dx),
    };
    const [plain, other] = [measureShift(stars, sensor, false)!, measureShift(mirrored, sensor, false)!];
    expect(other.lateral.value).toBeCloseTo(plain.lateral.value, 4);
    expect(other.lateral.error).toBeCloseTo(plain.lateral.error, 4);
    expect(other.constant!.x.value).toBeCloseTo(-plain.constant!.x.value, 4);
    expect(other.constant!.y.value).toBeCloseTo(plain.constant!.y.value, 4);
  });

  it("gives nothing for 24 stars and a value without a cubic for 40", () => {
    expect(measureShift(simulateShifts({ seed: 7, stars: 24 }), sensor, false)).toBeNull();
    const few = measureShift(simulateShifts({ seed: 8, stars: 40, linear: 1 }), sensor, false)!;
    expect(few.terms.cubic).toBe(false);
    expect(few.cubic.error).toBeNaN();
    expect(holds(few.lateral, 1)).toBe(true);
  });
});
