import { describe, expect, it } from "vitest";
import { computeAirMagnification, computeDispersion, standardAir } from "../../lib/colour/air-dispersion.ts";

/** Observatory table "altitude 2 km, relative to 5000 A" after Filippenko 1982, PASP 94, 715: arcsec by sec z. */
const wavelengthsUm = [0.3, 0.35, 0.4, 0.45, 0.55, 0.6, 0.65];
const table: [number, number[]][] = [
  [1.05, [0.68, 0.38, 0.2, 0.08, -0.06, -0.11, -0.14]],
  [1.25, [1.59, 0.9, 0.48, 0.2, -0.14, -0.25, -0.33]],
  [1.5, [2.37, 1.34, 0.71, 0.29, -0.21, -0.37, -0.5]],
  [1.75, [3.04, 1.73, 0.92, 0.38, -0.27, -0.48, -0.64]],
  [1.9, [3.42, 1.94, 1.03, 0.42, -0.31, -0.54, -0.72]],
  [2.1, [3.91, 2.22, 1.18, 0.48, -0.35, -0.62, -0.82]],
  [2.4, [4.62, 2.62, 1.39, 0.57, -0.42, -0.73, -0.97]],
];

const onMountain = { pressureMmHg: 600, temperatureC: 7, vapourMmHg: 8 };

describe("dispersion of the air", () => {
  it("gives every printed hundredth of an arcsecond of Filippenko's table from sec z 1.05 to 2.4", () => {
    for (const [secant, row] of table) {
      const altitudeDeg = 90 - (Math.acos(1 / secant) * 180) / Math.PI;
      row.forEach((arcsec, k) => {
        const computed = computeDispersion(wavelengthsUm[k], 0.5, altitudeDeg, onMountain);
        // Half of the last digit printed.
        expect(Math.abs(computed - arcsec)).toBeLessThan(0.0051);
      });
    }
  });

  it("agrees within 1 % with ERFA's refco from 450 to 620 nm at sea level: 0.456, 0.789 and 1.364 arcsec", () => {
    const erfa: [number, number][] = [
      [30, 0.456],
      [45, 0.789],
      [60, 1.364],
    ];
    for (const [zenithDistance, arcsec] of erfa) {
      const computed = computeDispersion(0.45, 0.62, 90 - zenithDistance, standardAir);
      expect(Math.abs(computed / arcsec - 1)).toBeLessThan(0.01);
    }
  });

  it("vanishes at the zenith, changes sign with the order of colours, and is not told below the horizon", () => {
    expect(computeDispersion(0.45, 0.62, 90, standardAir)).toBeCloseTo(0, 12);
    expect(computeDispersion(0.62, 0.45, 40, standardAir)).toBe(
      -computeDispersion(0.45, 0.62, 40, standardAir),
    );
    expect(computeDispersion(0.45, 0.62, 0, standardAir)).toBeNaN();
  });

  it("draws a field together as the slope of refraction says, by finite differences over 2 degrees of altitude", () => {
    // Along the altitude: change of dispersion with zenith distance; across it: the ratio of arcs on two parallels.
    const [low, high] = [
      computeDispersion(0.45, 0.62, 44, standardAir),
      computeDispersion(0.45, 0.62, 46, standardAir),
    ];
    const along = -(low - high) / (2 * 3600);
    const across = -computeDispersion(0.45, 0.62, 45, standardAir) / 206264.806 / Math.tan(Math.PI / 4);
    expect(computeAirMagnification(0.45, 0.62, 45, standardAir)).toBeCloseTo((along + across) / 2, 8);
  });
});
