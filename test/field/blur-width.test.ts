import { describe, expect, it } from "vitest";
import type { Exposure, Optics } from "../../demo/simulator/conditions.ts";
import { clearBand, flatField, plainExposure, plainOptics } from "../../demo/simulator/presets.ts";
import { choosePsfSampling, preparePsfMaker } from "../../demo/simulator/psf.ts";
import { measurePsfTruth } from "../../demo/simulator/psf-truth.ts";
import {
  makeGridShelf,
  prepareBlurGrid,
  readBlurWidths,
  readSeeingShare,
} from "../../lib/field/blur-width.ts";

function readWidths(obstruction: number, share: number, u1: number, u2: number): [number, number] {
  const squares = new Float64Array(2);
  readBlurWidths(prepareBlurGrid(obstruction, share), u1, u2, squares);
  return [Math.sqrt(squares[0]), Math.sqrt(squares[1])];
}

describe("readSeeingShare(obstruction, diffractionShare)", () => {
  // Widths of Kolmogorov images convolved with Airy's, by direct numerical transform; Airy's width is 1.028994 lambda N.
  it.each([
    [3, 1.5, 3.416],
    [2, 2, 2.8241],
  ])(
    "finds a Kolmogorov width of %f in a star of Kolmogorov and Airy width %f, within 0.2 %%",
    (seeing, airy, total) => {
      const share = airy / 1.028994 / total;
      expect(Math.abs(readSeeingShare(0, share) * total - seeing)).toBeLessThan(0.002 * seeing);
    },
  );
});

describe("readBlurWidths(grid, u1, u2)", () => {
  it("is 1 along both axes in focus, within 0.1 %, at all shares of diffraction and obstructions", () => {
    for (const obstruction of [0, 0.2, 0.3, 0.5]) {
      for (const share of [0.08, 0.2, 0.4, 0.6, 0.78]) {
        for (const width of readWidths(obstruction, share, 0, 0))
          expect(Math.abs(width - 1)).toBeLessThan(1e-3);
      }
    }
  });

  it("exchanges the widths with the axes, whatever the sign of the foci's product", () => {
    for (const [a, b] of [
      [1.3, 0.4],
      [2.2, -1.7],
      [0.6, -0.6],
    ]) {
      const [first, second] = readWidths(0.1, 0.3, a, b);
      const [other, same] = readWidths(0.1, 0.3, Math.abs(b), Math.sign(b) * a);
      expect(first).toBeCloseTo(same, 9);
      expect(second).toBeCloseTo(other, 9);
    }
  });

  it("has no step where one focus passes through the sensor", () => {
    const before = readWidths(0, 0.4, 1.1, -1e-7);
    const after = readWidths(0, 0.4, 1.1, 1e-7);
    expect(before[0]).toBeCloseTo(after[0], 5);
    expect(before[1]).toBeCloseTo(after[1], 5);
  });

  // The simulator's images come from other code: two-dimensional pupil, pixel grid, contour by rays.
  it.each([
    { apertureMm: 115, focalLengthMm: 636, obstructionMm: 0, seeing: 2.4, foci: [-60, -25] },
    { apertureMm: 115, focalLengthMm: 636, obstructionMm: 0, seeing: 2.4, foci: [70, -40] },
    { apertureMm: 200, focalLengthMm: 800, obstructionMm: 70, seeing: 1.8, foci: [-35, -15] },
    { apertureMm: 61, focalLengthMm: 360, obstructionMm: 0, seeing: 1.5, foci: [50, 20] },
    { apertureMm: 130, focalLengthMm: 1000, obstructionMm: 0, seeing: 3.5, foci: [-150, 60] },
  ])(
    "agrees with the simulator's wave optics within 0.6 %: $apertureMm mm, $focalLengthMm mm, foci $foci um",
    (one) => {
      const optics: Optics = { ...plainOptics, ...one, field: flatField };
      const band = { ...clearBand, wavelengthsNm: [550], shares: [1] };
      const exposure: Exposure = { ...plainExposure, seeingArcsec: one.seeing, bands: [band] };
      const [tangentialUm, sagittalUm] = one.foci;
      const sampling = choosePsfSampling(optics, exposure, 3.76, Math.max(...one.foci.map(Math.abs)));
      const maker = preparePsfMaker(optics, exposure, band, sampling);
      const measure = (t: number, s: number): [number, number] => {
        const point = { tangentialUm: t, sagittalUm: s, meridianRad: 0, comaUm: 0, sphericalUm: 0 };
        const truth = measurePsfTruth(maker.makePsf(point));
        if (truth === null) throw new Error("no single blob");
        const widths = [truth.fwhmMajor, truth.fwhmMinor].map(
          (width) => (width / sampling.oversampling) * sampling.pixelPitchUm,
        );
        const isAlong = Math.abs(Math.cos(truth.angleRad)) > Math.SQRT1_2;
        return isAlong ? [widths[0], widths[1]] : [widths[1], widths[0]];
      };
      const focused = Math.sqrt(measure(0, 0)[0] * measure(0, 0)[1]);
      const focalRatio = one.focalLengthMm / one.apertureMm;
      const [along, across] = readWidths(
        one.obstructionMm / one.apertureMm,
        (0.55 * focalRatio) / focused,
        Math.abs(tangentialUm) / focalRatio / focused,
        (Math.sign(tangentialUm * sagittalUm) * Math.abs(sagittalUm)) / focalRatio / focused,
      );
      const [trueAlong, trueAcross] = measure(tangentialUm, sagittalUm);
      expect(Math.abs((along * focused) / trueAlong - 1)).toBeLessThan(0.006);
      expect(Math.abs((across * focused) / trueAcross - 1)).toBeLessThan(0.006);
    },
  );
});

describe("makeGridShelf(obstruction)", () => {
  it("gives widths within 5e-4 of those of the share's own grid at blurs of 0 to 1.5, and within 2e-3 at 3, at 2,000 shares", () => {
    for (const obstruction of [0, 0.35]) {
      const shelf = makeGridShelf(obstruction);
      const near = new Float64Array(2);
      for (let k = 0; k < 2000; k++) {
        const share = 0.1 + 0.00033 * k;
        for (const [u1, u2, most] of [
          [0, 0, 1e-9],
          [0.6, -0.4, 5e-4],
          [1.5, 1.2, 5e-4],
          [3, -2, 2e-3],
        ]) {
          readBlurWidths(shelf(share), u1, u2, near);
          const own = readWidths(obstruction, share, u1, u2);
          expect(Math.abs(Math.sqrt(near[0]) / own[0] - 1)).toBeLessThan(most);
          expect(Math.abs(Math.sqrt(near[1]) / own[1] - 1)).toBeLessThan(most);
        }
      }
    }
  });

  it("prepares one grid for shares that differ by a tenth of a percent", () => {
    const shelf = makeGridShelf(0.2);
    const first = shelf(Math.exp(-1));
    expect(shelf(Math.exp(-1.0009))).toBe(first);
    expect(shelf(Math.exp(-1.02))).not.toBe(first);
  });
});
