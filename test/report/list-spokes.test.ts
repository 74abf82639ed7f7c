import { describe, expect, it } from "vitest";
import { makeFullGeometry } from "../../lib/field/geometry.ts";
import { makeRandom } from "../../lib/maths/random.ts";
import type { TestMeasurement } from "../../lib/measured/test-measurement.ts";
import { listSpokes } from "../../lib/report/list-spokes.ts";
import { makeStarTable } from "../../lib/stars/star-table.ts";

const geometry = makeFullGeometry(600, 400, 3.76);

/** Stars at places of a seed, each as wide as its row's number in thousandths and 2 px; one place in three is off by more than 2 px. */
function makeScene(seed: number, count: number) {
  const random = makeRandom(seed);
  const stars = makeStarTable(count);
  for (let row = 0; row < count; row++) {
    stars.xPx[row] = 600 * random();
    stars.yPx[row] = 400 * random();
    stars.fwhmMajorPx[row] = stars.fwhmMinorPx[row] = 2 + row / 1000;
  }
  const crops = Array.from({ length: 30 }, (_, k) => ({
    halfDiagonal: "upperLeft" as const,
    file: `crops/${k}.png`,
    xPx: Math.round(stars.xPx[k * 7] + (k % 3 === 0 ? 3 : 0)),
    yPx: Math.round(stars.yPx[k * 7]),
    sidePx: 21,
  }));
  const frames = [{ channels: [{ channel: "L", stars }] }];
  return { stars, measurement: { frames, crops } as unknown as TestMeasurement };
}

describe("listSpokes", () => {
  it.each([
    [5, 400],
    [6, 4000],
    [7, 20000],
  ])("finds the stars that a search of all finds, seed %i, %i stars on 600 x 400 px", (seed, count) => {
    const { stars, measurement } = makeScene(seed, count);
    const expected = measurement.crops.flatMap(({ file, xPx, yPx }) => {
      const distances = Array.from(stars.xPx, (x, row) => (x - xPx) ** 2 + (stars.yPx[row] - yPx) ** 2);
      const least = Math.min(...distances);
      return least <= 4 ? [[file, 2 + distances.lastIndexOf(least) / 1000]] : [];
    });
    const found = listSpokes(measurement, geometry, "L")?.crops ?? [];
    expect(found).toHaveLength(expected.length);
    found.forEach(({ file, fwhmPx }, k) => {
      expect(file).toBe(expected[k][0]);
      expect(fwhmPx).toBeCloseTo(expected[k][1] as number, 9);
    });
  });

  it("has none where no star was measured in the channel", () => {
    expect(listSpokes(makeScene(5, 400).measurement, geometry, "R")).toBeNull();
  });
});
