import { describe, expect, it } from "vitest";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import { fitMap, readMap } from "../../lib/stars/smooth-map.ts";

const frame = { widthPx: 3000, heightPx: 2000 };

function scatter(count: number, seed: number) {
  const random = makeRandom(seed);
  const xPx = Float64Array.from({ length: count }, () => random() * frame.widthPx);
  const yPx = Float64Array.from({ length: count }, () => random() * frame.heightPx);
  return { xPx, yPx, normal: makeNormalRandom(random) };
}

/** ln of a width that grows from 1 to 2 with the fourth power of the radius and leans to the right. */
const truth = (x: number, y: number) => {
  const [u, v] = [(2 * x) / frame.widthPx - 1, (2 * y) / frame.heightPx - 1];
  return 0.1 * u + 0.17 * (u * u + v * v) ** 2;
};

describe("fitMap(frame, xPx, yPx, values)", () => {
  it("follows a field of fourth order within 0.02 from 150 stars that scatter by 0.02, 5 of them by 1; seed 1", () => {
    const { xPx, yPx, normal } = scatter(150, 1);
    const values = xPx.map((x, i) => truth(x, yPx[i]) + 0.02 * normal() + (i % 30 === 0 ? 1 : 0));
    const map = fitMap(frame, xPx, yPx, values);
    for (const x of [300, 1500, 2700]) {
      for (const y of [200, 1000, 1800])
        expect(Math.abs(readMap(map, x, y) - truth(x, y))).toBeLessThan(0.02);
    }
  });

  it("invents no change from 40 stars that scatter by 0.02 about 1.1: within 0.04 among them; seed 2", () => {
    const { xPx, yPx, normal } = scatter(40, 2);
    const map = fitMap(
      frame,
      xPx,
      yPx,
      xPx.map(() => 1.1 + 0.02 * normal()),
    );
    for (const x of [300, 1500, 2700]) {
      for (const y of [200, 1000, 1800]) expect(Math.abs(readMap(map, x, y) - 1.1)).toBeLessThan(0.04);
    }
  });
});
