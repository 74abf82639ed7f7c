import { describe, expect, it } from "vitest";
import { makeRandom, type Random } from "../../lib/maths/random.ts";
import { flagTrailedDoubles, type PlacedStars } from "../../lib/stars/flag-doubles.ts";
import { STAR_FLAGS } from "../../lib/stars/star-table.ts";

interface Spot {
  x: number;
  y: number;
  flux: number;
}

function scatterSpots(uniform: Random, n: number, side: number): Spot[] {
  return Array.from({ length: n }, () => ({
    x: uniform() * side,
    y: uniform() * side,
    // Numbers of stars grow by about 2.5 a magnitude of faintness.
    flux: 100 * (1 - uniform()) ** -1,
  }));
}

function tabulate(spots: Spot[]): PlacedStars {
  return {
    xPx: Float64Array.from(spots, ({ x }) => x),
    yPx: Float64Array.from(spots, ({ y }) => y),
    fluxAdu: Float64Array.from(spots, ({ flux }) => flux),
    flags: new Uint16Array(spots.length),
  };
}

describe("stars drawn twice by a jump of the mount", () => {
  for (const [ratio, dx, dy] of [
    [0.4, 9, -4],
    [1, -5, 11],
    [0.15, 0, 30],
  ]) {
    it(`are found with their offset (${dx}, ${dy}) px and light ratio ${ratio}`, () => {
      const uniform = makeRandom(5);
      const spots = scatterSpots(uniform, 400, 3000);
      const blur = () => 0.2 * (uniform() - 0.5);
      const images = spots.map(({ x, y, flux }) => ({
        x: x + dx + blur(),
        y: y + dy + blur(),
        flux: flux * ratio * (1 + 0.1 * (uniform() - 0.5)),
      }));
      const table = tabulate([...spots, ...images]);
      const jump = flagTrailedDoubles(table, 3);
      expect(jump).not.toBeNull();
      const sign = ratio === 1 && Math.sign(jump!.dxPx) !== Math.sign(dx) ? -1 : 1;
      expect(Math.abs(jump!.dxPx - sign * dx)).toBeLessThan(0.2);
      expect(Math.abs(jump!.dyPx - sign * dy)).toBeLessThan(0.2);
      expect(Math.abs(Math.log(jump!.ratio / ratio))).toBeLessThan(0.15);
      const flagged = table.flags.filter((flags) => flags & STAR_FLAGS.trailedDouble).length;
      expect(flagged).toBeGreaterThan(0.97 * 800);
    });
  }

  it("are not seen in 200 random fields, from 50 to 20,000 stars (seeds 1 to 200)", () => {
    for (let seed = 1; seed <= 200; seed++) {
      const uniform = makeRandom(seed);
      const n = Math.round(50 * 400 ** ((seed % 20) / 19));
      const table = tabulate(scatterSpots(uniform, seed % 20 === 19 && seed > 60 ? 2000 : n, 3000));
      expect(flagTrailedDoubles(table, 3)).toBeNull();
    }
  }, 60_000);

  it("are not seen in 30 clusters so dense that every star has twenty neighbours within reach", () => {
    for (let seed = 1; seed <= 30; seed++) {
      expect(flagTrailedDoubles(tabulate(scatterSpots(makeRandom(seed), 800, 680)), 3)).toBeNull();
    }
  }, 60_000);

  it("are not seen where one star in five is a true double of its own separation and angle", () => {
    const uniform = makeRandom(9);
    const spots = scatterSpots(uniform, 600, 3000);
    const companions = spots.slice(0, 120).map(({ x, y, flux }) => {
      const angle = 2 * Math.PI * uniform();
      const separation = 3 + 10 * uniform();
      return {
        x: x + separation * Math.cos(angle),
        y: y + separation * Math.sin(angle),
        flux: flux * uniform(),
      };
    });
    expect(flagTrailedDoubles(tabulate([...spots, ...companions]), 3)).toBeNull();
  });

  it("leaves spikes and trails out of the count", () => {
    const spots = scatterSpots(makeRandom(4), 200, 2000);
    const table = tabulate([...spots, ...spots.map(({ x, y, flux }) => ({ x: x + 8, y, flux }))]);
    table.flags.fill(STAR_FLAGS.spike);
    expect(flagTrailedDoubles(table, 3)).toBeNull();
  });
});
