import { describe, expect, it } from "vitest";
import { measureField } from "../../lib/field/measure-field.ts";
import { placeCombined } from "../../lib/field/place-stars.ts";
import { NO_LEARNED_REACH } from "../../lib/field/profile-error.ts";
import { measureZones } from "../../lib/field/zones.ts";
import type { Quantity } from "../../lib/maths/quantity.ts";
import { averageStars } from "../../lib/stars/average-stars.ts";
import type { CombinedStars } from "../../lib/stars/combine-frames.ts";
import { makeStarTable, type StarTable } from "../../lib/stars/star-table.ts";
import { drawTables, geometry26, scale26, type TablePlan } from "./draw-tables.ts";

/** Stars of one zone only, so that their number is known: within the centre's radius. */
function placeAtCentre(draw: () => number): { xPx: number; yPx: number } {
  const radius = 900 * Math.sqrt(draw());
  const angle = 2 * Math.PI * draw();
  return { xPx: 3124 + radius * Math.cos(angle), yPx: 2088 + radius * Math.sin(angle) };
}

/**
 * Median width of a star of 3 px of which one in fifty is 30 to 130 % wider and all differ by 4 %: the half lies at
 * 0.5 / 0.98 of the normal distribution, 0.0256 sigma above its middle.
 */
const medianWidthPx = 3 * (1 + 0.0256 * 0.04);
const elongation = 0.09;
const ellipticity = 1 - Math.sqrt((1 - elongation) / (1 + elongation));

function holds(quantity: Quantity, truth: number): boolean {
  return quantity.value !== null && quantity.lo <= truth && quantity.hi >= truth;
}

/** The frames' stars joined row by row, as they were drawn: matching by place has tests of its own. */
function combineInOrder(tables: StarTable[]): CombinedStars {
  const rows = tables.map((table) => Int32Array.from(table.flags.keys()));
  const { stars, frameCount, order } = averageStars(tables, rows);
  return {
    stars,
    frameCount,
    frames: tables,
    rows: rows.map((column) => Int32Array.from(order, (star) => column[star])),
    transforms: [],
    matched: [...tables.keys()],
    unmatched: [],
  };
}

/** Share of simulated nights in which the zone's 95 % intervals hold the truth. */
function countCoverage(plan: Omit<TablePlan, "seed">, nights: number, firstSeed: number) {
  const hits = { fwhm: 0, ellipticity: 0, radial: 0 };
  for (let night = 0; night < nights; night++) {
    const tables = drawTables({
      ...plan,
      seed: firstSeed + night,
      place: placeAtCentre,
      shape: (x, y) => {
        const twice = 2 * Math.atan2(y, x);
        return { fwhmPx: 3, e1: elongation * Math.cos(twice), e2: elongation * Math.sin(twice) };
      },
    });
    const zones = measureZones(placeCombined(combineInOrder(tables), geometry26), scale26, NO_LEARNED_REACH);
    // The tables are drawn with no profile to be learned.
    if (holds(zones.centre.fwhm.px, medianWidthPx)) hits.fwhm++;
    if (holds(zones.centre.ellipticity, ellipticity)) hits.ellipticity++;
    if (holds(zones.centre.radial, elongation)) hits.radial++;
  }
  return { fwhm: hits.fwhm / nights, ellipticity: hits.ellipticity / nights, radial: hits.radial / nights };
}

describe("95 % intervals of zone medians", () => {
  // Stars differ by 4 %, are measured to 3 %, one in fifty is 30 to 130 % too wide; frames differ by 3 % in seeing.
  const cases: [frames: number, stars: number, frameScatter: number, seed: number][] = [
    [1, 8, 0, 1000],
    [1, 30, 0, 2000],
    [1, 120, 0, 3000],
    [1, 500, 0, 4000],
    [3, 8, 0.03, 5000],
    [3, 30, 0.03, 6000],
    [3, 120, 0.03, 7000],
    [3, 500, 0.03, 8000],
    [3, 60, 0, 9000],
  ];
  for (const [frames, stars, frameScatter, seed] of cases) {
    it(`hold the truth in 90 to 99 % of 200 nights: ${frames} frames, ${stars} stars, seeing within ${100 * frameScatter} % (seeds from ${seed})`, () => {
      const coverage = countCoverage(
        { stars, frames, frameScatter, starScatter: 0.04, noise: 0.03, outliers: 0.02 },
        200,
        seed,
      );
      for (const share of Object.values(coverage)) {
        expect(share).toBeGreaterThanOrEqual(0.9);
        // Three standard errors of a share of 98 % over 200 nights are 2.4 %: above that it would be over-wide for sure.
        expect(share).toBeLessThanOrEqual(0.99);
      }
    });
  }
});

describe("zone medians", () => {
  const plan: TablePlan = { seed: 5, stars: 3000, frames: 1, starScatter: 0.02, noise: 0.02 };

  it("move by less than 1 % when a tenth of the stars are two times too wide", () => {
    const clean = measureField(drawTables(plan), geometry26, scale26).zones.middle.fwhm.px;
    const spoilt = measureField(drawTables({ ...plan, outliers: 0.1 }), geometry26, scale26).zones.middle.fwhm
      .px;
    expect(Math.abs((spoilt.value ?? 0) / (clean.value ?? 1) - 1)).toBeLessThan(0.01);
  });

  it("say that a table lacks a column rather than that 3000 stars are fewer than six", () => {
    const [table] = drawTables(plan);
    const without = { ...table, hfdPx: table.hfdPx.map(() => Number.NaN) };
    const { centre } = measureField([without], geometry26, scale26).zones;
    expect(centre.fwhm.px.value).not.toBeNull();
    expect(centre.hfd.px.value === null && centre.hfd.px.why).toBe(
      "Fewer than 6 stars of this zone have this value; a star table made elsewhere may lack its column.",
    );
  });

  it("come in px, um and arcsec that agree", () => {
    const { fwhm } = measureField(drawTables(plan), geometry26, scale26).zones.corner;
    expect((fwhm.um.value ?? 0) / (fwhm.px.value ?? 1)).toBeCloseTo(3.76, 9);
    expect((fwhm.arcsec.value ?? 0) / (fwhm.px.value ?? 1)).toBeCloseTo(1.2, 9);
  });

  it("give the four corners together all the stars of the single corners", () => {
    const { zones } = measureField(drawTables(plan), geometry26, scale26);
    const single =
      zones.upperLeft.stars + zones.upperRight.stars + zones.lowerLeft.stars + zones.lowerRight.stars;
    expect(zones.corner.stars).toBe(single);
    expect(zones.centre.stars + zones.middle.stars + zones.outer.stars + single).toBe(3000);
  });

  it("mirror with the frame: upper and lower corners change places, radial stays", () => {
    const [table] = drawTables({
      ...plan,
      shape: (x, y) => ({ fwhmPx: 3 + 0.03 * y + 0.01 * x, e1: 0.05, e2: 0.02 }),
    });
    const mirrored = { ...table, yPx: table.yPx.map((y) => 4175 - y), e2: table.e2.map((e2) => -e2) };
    const before = measureField([table], geometry26, scale26).zones;
    const after = measureField([mirrored], geometry26, scale26).zones;
    expect(after.lowerLeft.fwhm.px.value).toBeCloseTo(before.upperLeft.fwhm.px.value ?? 0, 9);
    expect(after.upperRight.radial.value).toBeCloseTo(before.lowerRight.radial.value ?? 0, 9);
  });

  it("find the common direction of trailed stars and say none for round ones", () => {
    const turn = (2 * 30 * Math.PI) / 180;
    const trailed = {
      ...plan,
      shape: () => ({ fwhmPx: 3, e1: 0.1 * Math.cos(turn), e2: 0.1 * Math.sin(turn) }),
    };
    const { angle } = measureField(drawTables(trailed), geometry26, scale26).zones.centre;
    expect(angle.value).not.toBeNull();
    expect(Math.abs((angle.value ?? 0) - 30)).toBeLessThan(1);
    expect(measureField(drawTables(plan), geometry26, scale26).zones.centre.angle.value).toBeNull();
  });

  it("of radially drawn stars have no common direction over the whole of the centre", () => {
    const radially: TablePlan = {
      ...plan,
      shape: (x, y) => {
        const twice = 2 * Math.atan2(y, x);
        return { fwhmPx: 3, e1: 0.1 * Math.cos(twice), e2: 0.1 * Math.sin(twice) };
      },
    };
    const { zones } = measureField(drawTables(radially), geometry26, scale26);
    expect(zones.corner.radial.value).toBeCloseTo(0.1, 2);
    expect(zones.centre.angle.value).toBeNull();
  });

  it("say why where fewer than six stars lie in a zone, and where there is none", () => {
    const { zones } = measureField(
      drawTables({ ...plan, stars: 5, place: placeAtCentre }),
      geometry26,
      scale26,
    );
    expect(zones.centre.fwhm.px).toMatchObject({ value: null, why: expect.stringMatching(/^5 stars .* 6/) });
    expect(zones.corner.ellipticity).toMatchObject({ value: null, why: expect.stringMatching(/^No star/) });
    expect(measureField([makeStarTable(0)], geometry26, scale26).zones.centre.stars).toBe(0);
  });
});

describe("the star list for the page", () => {
  it("has at most 1500 stars, the same at every call, with every part of the sensor in it", () => {
    const tables = drawTables({ seed: 9, stars: 6000, frames: 1 });
    const first = measureField(tables, geometry26, scale26).starField;
    expect(first.total).toBe(6000);
    expect(first.xMm).toHaveLength(1500);
    expect(measureField(tables, geometry26, scale26).starField).toEqual(first);
    for (const [x, y] of [
      [-1, -1],
      [-1, 1],
      [1, -1],
      [1, 1],
    ]) {
      const quarter = first.xMm.filter((value, row) => value * x > 0 && first.yMm[row] * y > 0).length;
      expect(quarter).toBeGreaterThan(330);
      expect(quarter).toBeLessThan(420);
    }
  });
});

describe("ratios of zones", () => {
  it("keep a narrow interval where the seeing changes by 10 % from frame to frame", () => {
    const tables = drawTables({
      seed: 21,
      stars: 2000,
      frames: 3,
      frameScatter: 0.1,
      shape: (x, y) => ({ fwhmPx: 3 * (1 + 0.0015 * (x * x + y * y)), e1: 0, e2: 0 }),
    });
    const { zones, contrasts } = measureField(tables, geometry26, scale26);
    const [width, ratio] = [zones.corner.fwhm.px, contrasts.overCentre.corner];
    if (width.value === null || ratio.value === null) throw new Error("both must be known");
    expect((width.hi - width.lo) / width.value).toBeGreaterThan(0.1);
    expect((ratio.hi - ratio.lo) / ratio.value).toBeLessThan(0.03);
  });
});
