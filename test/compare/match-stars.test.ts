import { describe, expect, it } from "vitest";
import { isMatch, largestFalseAlarm, matchStars } from "../../lib/compare/match-stars.ts";
import { type DrawnView, drawSky, drawView } from "./draw-star-pair.ts";

const frame = { widthPx: 6248, heightPx: 4176, errorPx: 0.2, shiftPx: { x: 0, y: 0 }, turnDeg: 0 };
/** Half the sky drawn, and px of one of its units: it reaches a little beyond a frame of 6248 x 4176. */
const halfSky = 1;
const focalPx = 4000;

interface Case {
  name: string;
  stars: number;
  sky?: number;
  a?: Partial<DrawnView>;
  b?: Partial<DrawnView>;
}

const cases: Case[] = [
  {
    name: "scale 0.73, 37 degrees of turn, 0.5 % distortion",
    stars: 3000,
    b: { focalPx: 0.73 * focalPx, distortion: 0.005 },
  },
  { name: "scale 0.3", stars: 20_000, sky: 2.8, b: { focalPx: 0.3 * focalPx } },
  { name: "scale 3", stars: 20_000, sky: 2.8, a: { focalPx: 1300 }, b: { focalPx: 3900 } },
  {
    name: "depth three magnitudes apart (a factor of 14 in number)",
    stars: 8000,
    b: { focalPx: 3000, faintest: 7 },
  },
  { name: "a mirror in one train", stars: 2000, b: { focalPx: 3000, mirrored: true } },
  {
    name: "a third of the field in common",
    stars: 3000,
    b: { focalPx: 3000, shiftPx: { x: 3500, y: 1000 } },
  },
  {
    name: "20 to 40 common stars among as many strangers, a third of either list lost",
    stars: 3000,
    a: { faintest: 6.3 },
    b: { focalPx: 3000, faintest: 6.3, lost: 0.3, strangers: 25, errorMag: 0.3 },
  },
  {
    name: "bright stars whose light is out by a magnitude, as saturation leaves it",
    stars: 2000,
    b: { focalPx: 3000, errorMag: 1 },
  },
  {
    name: "3 % of distortion between the two",
    stars: 3000,
    a: { distortion: -0.01 },
    b: { focalPx: 3000, distortion: 0.02 },
  },
];

describe("matchStars", () => {
  for (const { name, stars, sky = halfSky, a = {}, b = {} } of cases) {
    it(`pairs the right stars in four pairs of frames: ${name} (seeds 1 to 4)`, () => {
      for (let seed = 1; seed <= 4; seed++) {
        const drawn = drawSky(stars, sky, seed);
        const one = drawView(drawn, { ...frame, focalPx, faintest: 10, ...a }, 100 + seed);
        const other = drawView(
          drawn,
          { ...frame, focalPx, faintest: 10, turnDeg: 37 * seed, ...b },
          200 + seed,
        );
        const found = matchStars(one.list, other.list);
        if (!isMatch(found)) throw new Error(`seed ${seed}: ${found.reason}`);
        const inBoth = new Set(other.star);
        const common = one.star.filter((star) => star >= 0 && inBoth.has(star)).length;
        const right = found.pairs.filter(
          ([i, j]) => one.star[i] >= 0 && one.star[i] === other.star[j],
        ).length;
        // Chance neighbours within the radius are allowed: 1 in 100.
        expect(right).toBeGreaterThanOrEqual(0.99 * found.pairs.length);
        expect(right).toBeGreaterThanOrEqual(0.95 * common);
        expect(found.mirrored).toBe(b.mirrored ?? false);
        expect(found.logFalseAlarm).toBeLessThan(Math.log(largestFalseAlarm));
      }
    });
  }

  it("finds no match in 24 pairs of unrelated fields of 60 to 1,000 stars (seeds 1 to 24)", () => {
    for (let seed = 1; seed <= 24; seed++) {
      const [first, second] = [[60, 300, 1000][seed % 3], [60, 300, 1000][(seed >> 2) % 3]];
      const one = drawView(drawSky(3 * first, halfSky, seed), { ...frame, focalPx, faintest: 10 }, 1);
      const other = drawView(
        drawSky(3 * second, halfSky, 9000 + seed),
        { ...frame, focalPx, faintest: 10 },
        2,
      );
      const found = matchStars(one.list, other.list);
      expect(isMatch(found), `seed ${seed}`).toBe(false);
    }
  });

  it("finds no match between a field and its neighbour that shares no star", () => {
    const drawn = drawSky(8000, 3, 5);
    const view = { ...frame, focalPx, faintest: 10 };
    const one = drawView(drawn, { ...view, shiftPx: { x: 3300, y: 0 } }, 1);
    const other = drawView(drawn, { ...view, shiftPx: { x: -3300, y: 0 } }, 2);
    expect(one.star.some((star) => other.star.includes(star))).toBe(false);
    expect(matchStars(one.list, other.list)).toMatchObject({ reason: "noOverlap" });
  });

  it("asks for eight stars on each side and says how many there are", () => {
    const drawn = drawSky(400, halfSky, 3);
    const full = drawView(drawn, { ...frame, focalPx, faintest: 10 }, 1).list;
    const few = {
      ...full,
      x: full.x.subarray(0, 7),
      y: full.y.subarray(0, 7),
      error: full.error.subarray(0, 7),
    };
    expect(matchStars(full, few)).toEqual({ reason: "tooFewStars", stars: [full.x.length, 7] });
    expect(matchStars({ ...few, x: few.x.subarray(0, 0) }, few)).toEqual({
      reason: "tooFewStars",
      stars: [0, 7],
    });
  });

  it("pairs every star of a frame with itself", () => {
    const { list } = drawView(drawSky(1500, halfSky, 8), { ...frame, focalPx, faintest: 10 }, 1);
    const found = matchStars(list, list);
    if (!isMatch(found)) throw new Error(found.reason);
    expect(found.pairs.every(([i, j]) => i === j)).toBe(true);
    expect(found.pairs).toHaveLength(list.x.length);
  });

  it("gives the same answer with sides exchanged", () => {
    const drawn = drawSky(1500, halfSky, 12);
    const one = drawView(drawn, { ...frame, focalPx, faintest: 10 }, 1);
    const other = drawView(drawn, { ...frame, focalPx: 3000, faintest: 9, turnDeg: 200, mirrored: true }, 2);
    const [there, back] = [matchStars(one.list, other.list), matchStars(other.list, one.list)];
    if (!isMatch(there) || !isMatch(back)) throw new Error("no match");
    // The radius counts in the other side's px: a star at its very edge may fall out.
    const names = new Set(there.pairs.map(([i, j]) => `${i} ${j}`));
    const same = back.pairs.filter(([j, i]) => names.has(`${i} ${j}`)).length;
    expect(same).toBeGreaterThanOrEqual(0.98 * Math.max(there.pairs.length, back.pairs.length));
    expect(back.mirrored && there.mirrored).toBe(true);
  });
});
