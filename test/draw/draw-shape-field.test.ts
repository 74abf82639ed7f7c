import { describe, expect, it } from "vitest";
import { chooseLineScale, drawShapeField } from "../../lib/draw/draw-shape-field.ts";
import { layStarLine, listStarLines } from "../../lib/draw/star-lines.ts";
import type { TrainResults } from "../../lib/report/results.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";
import { readSteps } from "./read-steps.ts";

function withStars(stars: { x: number; y: number; ellipticity: number; angle: number }[]): TrainResults {
  const [results] = makeSampleResults();
  const test = results.tests[0];
  const column = (value: number) => stars.map(() => value);
  test.starField = {
    xMm: stars.map(({ x }) => x),
    yMm: stars.map(({ y }) => y),
    ellipticity: stars.map(({ ellipticity }) => ellipticity),
    angleDeg: stars.map(({ angle }) => angle),
    fwhmUm: column(8),
    radial: column(0),
    snr: column(50),
    frames: column(1),
    total: stars.length,
  };
  return results;
}

/** The lines of the drawing as steps from end to end, in the order of its path. */
function readLines(svg: string): [number, number][] {
  const path = /<path[^>]*class="stars"[^>]*>/.exec(svg)?.[0] ?? "";
  const ends = readSteps(/\sd="([^"]*)"/.exec(path)?.[1] ?? "");
  return ends.flatMap(([x, y], k) =>
    k % 2 === 0 ? [[ends[k + 1][0] - x, ends[k + 1][1] - y] as [number, number]] : [],
  );
}

describe("layStarLine(line, centre, unitsPerMm, unitsPerEllipticity)", () => {
  it("puts a star at (+2, +1) mm right of and above the middle, 10 units a mm", () => {
    const drawn = { xMm: 2, yMm: 1 };
    const { x1, y1, x2, y2 } = layStarLine(
      { ...drawn, ellipticity: 0.1, angleDeg: 0, stars: 1, drawnAt: drawn },
      { x: 100, y: 100 },
      10,
      40,
    );
    expect([(x1 + x2) / 2, (y1 + y2) / 2]).toEqual([120, 90]);
    expect([x2 - x1, y2 - y1]).toEqual([4, 0]);
  });
});

describe("drawShapeField(results, test)", () => {
  it("draws a star at 45 deg from lower left to upper right, at 45 deg on paper", () => {
    const results = withStars([{ x: 3, y: 2, ellipticity: 0.5, angle: 45 }]);
    const [[dx, dy]] = readLines(drawShapeField(results, 0)?.svg ?? "");
    const { unitsPerEllipticity } = chooseLineScale(results);
    // Both ends are written to a tenth of a unit.
    const leg = 0.5 * unitsPerEllipticity * Math.SQRT1_2;
    expect(Math.abs(dx - leg)).toBeLessThan(0.1);
    expect(Math.abs(dy + leg)).toBeLessThan(0.1);
  });

  it("draws a star at 90 deg upright and one at 0 deg level", () => {
    const figure = drawShapeField(
      withStars([
        { x: 0, y: 0, ellipticity: 0.2, angle: 90 },
        { x: 1, y: 0, ellipticity: 0.2, angle: 0 },
      ]),
      0,
    );
    const lines = readLines(figure?.svg ?? "").map(([dx, dy]) => [Math.abs(dx), Math.abs(dy)]);
    const upright = lines.find(([dx]) => dx < 0.05);
    const level = lines.find(([, dy]) => dy < 0.05);
    expect(upright?.[1]).toBeGreaterThan(7);
    expect(level?.[0]).toBeCloseTo(upright?.[1] ?? 0, 6);
  });

  it("leaves out stars with a number that is not finite and is null where none is left", () => {
    const bad = { x: Number.NaN, y: 0, ellipticity: 0.2, angle: 0 };
    expect(drawShapeField(withStars([bad]), 0)).toBeNull();
    const figure = drawShapeField(withStars([bad, { x: 0, y: 0, ellipticity: 0.2, angle: 0 }]), 0);
    expect(readLines(figure?.svg ?? "")).toHaveLength(1);
  });
});

describe("chooseLineScale(results)", () => {
  it("draws ellipticities of 0.03 with 200 units each, of 0.15 with 100, of 0.3 with 40; the most drawn-out test counts", () => {
    const scaleOf = (ellipticity: number) => {
      const results = withStars([{ x: 0, y: 0, ellipticity, angle: 0 }]);
      results.tests = results.tests.slice(0, 1);
      return chooseLineScale(results).unitsPerEllipticity;
    };
    expect([0.03, 0.15, 0.3].map(scaleOf)).toEqual([200, 100, 40]);
    const both = withStars([{ x: 0, y: 0, ellipticity: 0.03, angle: 0 }]);
    both.tests = [both.tests[0], withStars([{ x: 0, y: 0, ellipticity: 0.3, angle: 0 }]).tests[0]];
    expect(chooseLineScale(both).unitsPerEllipticity).toBe(40);
  });
});

describe("listStarLines(field, sensor)", () => {
  it("averages 2000 stars at 30 deg with ellipticity 0.2 to cells at 30 deg with 0.2", () => {
    const stars = Array.from({ length: 2000 }, (_, k) => ({
      x: -11 + (22 * (k % 50)) / 49,
      y: -7 + (14 * Math.floor(k / 50)) / 39,
      ellipticity: 0.2,
      angle: 30,
    }));
    const { starField, sensor } = withStars(stars).tests[0];
    const lines = listStarLines(starField!, sensor);
    expect(lines.length).toBeLessThan(700);
    expect(lines.reduce((sum, line) => sum + line.stars, 0)).toBe(2000);
    for (const line of lines) {
      // A cell is a 20th of the longer side: what is drawn in its middle lies no further than half of it from its stars.
      const halfCellMm = sensor.widthMm / 40;
      expect(Math.abs(line.drawnAt.xMm - line.xMm)).toBeLessThanOrEqual(halfCellMm + 1e-9);
      expect(Math.abs(line.drawnAt.yMm - line.yMm)).toBeLessThanOrEqual(halfCellMm + 1e-9);
      expect(Math.abs(line.drawnAt.yMm)).toBeLessThan(sensor.heightMm / 2);
      expect(line.ellipticity).toBeCloseTo(0.2, 9);
      expect(line.angleDeg).toBeCloseTo(30, 9);
    }
  });

  it("averages long axes at 10 and 100 deg of one cell to a round mean: spin-2 parts cancel", () => {
    const stars = Array.from({ length: 800 }, (_, k) => ({
      x: 0.1,
      y: 0.1,
      ellipticity: 0.3,
      angle: k % 2 ? 10 : 100,
    }));
    const { starField, sensor } = withStars(stars).tests[0];
    const lines = listStarLines(starField!, sensor);
    expect(lines).toHaveLength(1);
    expect(lines[0].ellipticity).toBeCloseTo(0, 9);
  });
});
