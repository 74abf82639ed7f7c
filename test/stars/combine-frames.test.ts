import { describe, expect, it } from "vitest";
import { writeShape } from "../../lib/stars/average-stars.ts";
import { combineFrames } from "../../lib/stars/combine-frames.ts";
import { fitTransform, matchPositions } from "../../lib/stars/match-positions.ts";
import { makeStarTable, STAR_FLAGS, selectStars } from "../../lib/stars/star-table.ts";
import { drawTables } from "../field/draw-tables.ts";

const dither = [
  { x: 0, y: 0, turnDeg: 0 },
  { x: 231.4, y: -118.2, turnDeg: 0.4 },
  { x: -87.1, y: 260.7, turnDeg: -0.3 },
];

describe("frames of one pointing", () => {
  it("are matched star by star through shifts of 260 px and turns of 0.4 degrees (seed 31)", () => {
    const tables = drawTables({ seed: 31, stars: 1500, frames: 3, dither });
    const combined = combineFrames(tables);
    expect(combined.unmatched).toEqual([]);
    expect(combined.stars.flags).toHaveLength(1500);
    expect(combined.frameCount.every((count) => count === 3)).toBe(true);
    // The tables list the stars in one order: the same star has the same row everywhere.
    for (let star = 0; star < 1500; star++) {
      expect(combined.rows[1][star]).toBe(combined.rows[0][star]);
      expect(combined.rows[2][star]).toBe(combined.rows[0][star]);
    }
  });

  it("are matched when each frame lost a different third of its stars", () => {
    const tables = drawTables({ seed: 32, stars: 900, frames: 3, dither }).map((table, frame) =>
      selectStars(
        table,
        [...table.flags.keys()].filter((row) => row % 3 !== frame),
      ),
    );
    const combined = combineFrames(tables);
    expect(combined.unmatched).toEqual([]);
    expect(combined.stars.flags).toHaveLength(900);
    expect(combined.frameCount.every((count) => count === 2)).toBe(true);
  });

  it("turned by 180 degrees show the same field, but their stars stay apart: the optics' blur belongs to the sensor", () => {
    const tables = drawTables({
      seed: 33,
      stars: 400,
      frames: 2,
      dither: [dither[0], { x: 30, y: 12, turnDeg: 180 }],
    });
    const combined = combineFrames(tables);
    expect(combined.unmatched).toEqual([]);
    expect(combined.stars.flags).toHaveLength(800);
    expect(combined.frameCount.every((count) => count === 1)).toBe(true);
  });

  it("average widths so that the error falls with the square root of the frames", () => {
    const tables = drawTables({ seed: 34, stars: 2000, frames: 4, starScatter: 0, noise: 0.04 });
    const { stars } = combineFrames(tables);
    const widths = Array.from(
      stars.flags,
      (_, row) => Math.sqrt(stars.fwhmMajorPx[row] * stars.fwhmMinorPx[row]) / 3,
    );
    const spread = Math.sqrt(widths.reduce((sum, width) => sum + (width - 1) ** 2, 0) / widths.length);
    expect(spread).toBeGreaterThan(0.018);
    expect(spread).toBeLessThan(0.022);
    expect(stars.fwhmErr[0]).toBeCloseTo(0.02, 3);
  });

  it("free a star that only the worst frame has of that frame's seeing", () => {
    const tables = drawTables({ seed: 35, stars: 600, frames: 3, starScatter: 0, noise: 0.005 });
    const worse = {
      ...tables[2],
      fwhmMajorPx: tables[2].fwhmMajorPx.map((w) => w * 1.2),
      fwhmMinorPx: tables[2].fwhmMinorPx.map((w) => w * 1.2),
    };
    const without = (table: (typeof tables)[number]) =>
      selectStars(
        table,
        [...table.flags.keys()].filter((row) => row !== 50),
      );
    const combined = combineFrames([without(tables[0]), without(tables[1]), worse]);
    const alone = combined.frameCount.indexOf(1);
    const width = Math.sqrt(combined.stars.fwhmMajorPx[alone] * combined.stars.fwhmMinorPx[alone]);
    expect(width / (3 * 1.2 ** (1 / 3))).toBeGreaterThan(0.98);
    expect(width / (3 * 1.2 ** (1 / 3))).toBeLessThan(1.02);
  });

  it("leave flagged stars out and keep those that one frame could use", () => {
    const tables = drawTables({ seed: 36, stars: 100, frames: 2 });
    tables[0].flags[10] = STAR_FLAGS.trail;
    tables[0].flags[20] = STAR_FLAGS.saturated;
    tables[1].flags[20] = STAR_FLAGS.saturated;
    const combined = combineFrames(tables);
    expect(combined.stars.flags).toHaveLength(99);
    expect([...combined.frameCount].filter((count) => count === 1)).toHaveLength(1);
  });
});

describe("a frame of another field", () => {
  it("is named and left out", () => {
    const one = drawTables({ seed: 41, stars: 500, frames: 2 });
    const [other] = drawTables({ seed: 42, stars: 500, frames: 1 });
    const combined = combineFrames([one[0], other, one[1]]);
    expect(combined.unmatched).toEqual([1]);
    expect(combined.stars.flags).toHaveLength(500);
  });

  it("is told apart at 12 and at 3000 stars (seeds 50 to 57)", () => {
    for (const stars of [12, 3000]) {
      for (let seed = 50; seed < 54; seed++) {
        const [one] = drawTables({ seed, stars, frames: 1 });
        const [other] = drawTables({ seed: seed + 4, stars, frames: 1 });
        expect(combineFrames([one, other]).unmatched).toHaveLength(1);
      }
    }
  });
});

describe("one frame and none", () => {
  it("pass through: shapes unchanged to rounding, unusable rows gone", () => {
    const [table] = drawTables({ seed: 61, stars: 50, frames: 1 });
    table.flags[3] = STAR_FLAGS.faint;
    const { stars } = combineFrames([table]);
    expect(stars.flags).toHaveLength(49);
    const row = stars.fluxAdu.indexOf(table.fluxAdu[0]);
    expect(stars.fwhmMajorPx[row]).toBeCloseTo(table.fwhmMajorPx[0], 9);
    expect(stars.angleDeg[row]).toBeCloseTo(table.angleDeg[0], 9);
    expect(combineFrames([]).stars.flags).toHaveLength(0);
    expect(combineFrames([makeStarTable(0)]).stars.flags).toHaveLength(0);
  });
});

describe("matching places", () => {
  const places = (list: [number, number][]) => ({ xPx: list.map(([x]) => x), yPx: list.map(([, y]) => y) });
  const same = { a: 1, b: 0, tx: 0, ty: 0 };

  it("gives a contested target to the nearer one", () => {
    const matches = matchPositions(
      places([[10, 10]]),
      places([
        [11, 10],
        [10.2, 10],
        [40, 40],
      ]),
      same,
      3,
    );
    expect([...matches]).toEqual([-1, 0, -1]);
  });

  it("finds turn, scale and shift of three points exactly", () => {
    const others = places([
      [0, 0],
      [10, 0],
      [0, 20],
    ]);
    // Turned by 90 degrees, doubled, shifted by (5, 7).
    const targets = places([
      [5, 7],
      [5, 27],
      [-35, 7],
    ]);
    const fitted = fitTransform(targets, others, Int32Array.from([0, 1, 2]));
    expect(fitted?.a).toBeCloseTo(0, 12);
    expect(fitted?.b).toBeCloseTo(2, 12);
    expect(fitted?.tx).toBeCloseTo(5, 12);
    expect(fitted?.ty).toBeCloseTo(7, 12);
  });

  it("writes long and short axis of a known shape: width 4 px, axes 2 : 1, 30 degrees", () => {
    const table = makeStarTable(1);
    const size = (4 - 1) / (4 + 1);
    writeShape(table, 0, 4, size * Math.cos(Math.PI / 3), size * Math.sin(Math.PI / 3));
    expect(table.fwhmMajorPx[0]).toBeCloseTo(4 * Math.SQRT2, 9);
    expect(table.fwhmMinorPx[0]).toBeCloseTo(4 / Math.SQRT2, 9);
    expect(table.angleDeg[0]).toBeCloseTo(30, 9);
  });
});
