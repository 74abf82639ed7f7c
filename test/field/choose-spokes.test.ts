import { describe, expect, it } from "vitest";
import { chooseCropSide, chooseSpokes } from "../../lib/field/choose-spokes.ts";
import { CORNERS, computeHalfDiagonalMm, locateOnSensor } from "../../lib/field/geometry.ts";
import { measureField } from "../../lib/field/measure-field.ts";
import { STAR_FLAGS } from "../../lib/stars/star-table.ts";
import { drawTables, geometry26, scale26 } from "./draw-tables.ts";

describe("stars chosen for the spokes", () => {
  const [table] = drawTables({ seed: 91, stars: 4000, frames: 1 });
  const crops = chooseSpokes(table, geometry26);

  it("are one at the centre and five on each half-diagonal, each within 0.1 of its place in rho", () => {
    expect(crops).toHaveLength(21);
    for (const corner of CORNERS)
      expect(crops.filter(({ halfDiagonal }) => halfDiagonal === corner)).toHaveLength(5);
    for (const { file, xPx, yPx, halfDiagonal } of crops) {
      const { x, y } = locateOnSensor(geometry26, xPx, yPx);
      const wanted = halfDiagonal === "centre" ? 0 : Number(/-(\d+)\.png$/.exec(file)?.[1]) / 100;
      expect(Math.abs(Math.hypot(x, y) / computeHalfDiagonalMm(geometry26) - wanted)).toBeLessThan(0.101);
    }
  });

  it("are the same at every call, wholly on the frame, and never a flagged one", () => {
    expect(chooseSpokes(table, geometry26)).toEqual(crops);
    for (const { xPx, yPx, sidePx } of crops) {
      expect(Math.min(xPx, yPx)).toBeGreaterThanOrEqual(sidePx / 2);
      expect(xPx + sidePx / 2).toBeLessThanOrEqual(6248);
      expect(yPx + sidePx / 2).toBeLessThanOrEqual(4176);
    }
    const flagged = { ...table, flags: table.flags.map(() => STAR_FLAGS.blended) };
    expect(chooseSpokes(flagged, geometry26)).toEqual([]);
  });

  it("are cut ten widths wide, even, within 24 to 96 px", () => {
    expect([1, 3, 3.3, 20].map(chooseCropSide)).toEqual([24, 30, 34, 96]);
  });
});

describe("the radial profile", () => {
  it("has eight rings whose widths follow the drawn growth within their intervals", () => {
    const shape = (x: number, y: number) => ({ fwhmPx: 3 * (1 + 0.001 * (x * x + y * y)), e1: 0, e2: 0 });
    const tables = drawTables({ seed: 92, stars: 5000, frames: 1, starScatter: 0.02, shape });
    const { radialProfile } = measureField(tables, geometry26, scale26);
    expect(radialProfile.rho).toEqual([0.0625, 0.1875, 0.3125, 0.4375, 0.5625, 0.6875, 0.8125, 0.9375]);
    expect(radialProfile.stars.reduce((sum, stars) => sum + stars, 0)).toBe(5000);
    radialProfile.rMm.forEach((rMm, ring) => {
      const width = radialProfile.fwhmUm[ring];
      if (width.value === null) throw new Error(width.why);
      expect(Math.abs(width.value / (3.76 * 3 * (1 + 0.001 * rMm * rMm)) - 1)).toBeLessThan(0.02);
    });
  });
});
