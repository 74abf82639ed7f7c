import { describe, expect, it } from "vitest";
import type { HaloMeasurement } from "../../lib/colour/colour-measurement.ts";
import { compareHalos } from "../../lib/colour/compare-halos.ts";
import { drawHalo } from "../../lib/draw/draw-halo.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import type { ColourResults } from "../../lib/report/colour-results.ts";
import type { TrainResults } from "../../lib/report/results.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

const edgesPx = [3, 4, 5, 6, 8, 10];
const green = [0.03, 0.02, 0.012, 0.008, 0.004];

/** Thirty stars whose red light is 1.2 times green's in every ring and blue the same as green's, within 2 %. */
function makeHalo(): HaloMeasurement {
  const normal = makeNormalRandom(makeRandom(51));
  const draw = (factor: number) =>
    Array.from({ length: 30 }, () => green.map((share) => share * factor * (1 + 0.02 * normal())));
  return {
    edgesPx,
    xPx: Array.from({ length: 30 }, (_, k) => 100 * k),
    yPx: Array.from({ length: 30 }, (_, k) => 70 * k),
    channels: { R: draw(1.2), G: draw(1), B: draw(1) },
  };
}

function makeResults(halo: ColourResults["halo"]): TrainResults {
  const [results] = makeSampleResults();
  const [test] = results.tests;
  test.colour = { halo, reference: "G", tests: [test.id] } as ColourResults;
  return results;
}

const halo = compareHalos([makeHalo()], "G", 4)!;

describe("the halo figure", () => {
  it("rests on the light beyond each distance: red 1.2 times green's, blue the same, shares as the rings sum up", () => {
    expect(halo.beyond.rUm).toEqual([12, 16, 20, 24, 32]);
    halo.beyond.channels.R.forEach(({ overReference, share }, k) => {
      expect(Math.abs((overReference.value ?? 0) - 1.2)).toBeLessThan(0.02);
      const beyond = green.slice(k).reduce((sum, value) => sum + value, 0);
      expect(Math.abs((share.value ?? 0) / (120 * beyond) - 1)).toBeLessThan(0.02);
    });
    for (const { overReference } of halo.beyond.channels.G) expect(overReference.value).toBe(1);
    // The table's numbers are the same at its distance.
    expect(halo.beyond.channels.R[2]).toEqual(halo.channels.R);
  });

  it("tells in its title which colour has more light, draws a curve for each other colour and gives all numbers as CSV rows", () => {
    const figure = drawHalo(makeResults(halo), 0)!;
    expect(figure.title).toMatch(/red has 1\.(19|20|21) times green’s light/);
    expect(figure.svg).toContain("blue");
    expect(figure.svg).not.toContain("NaN");
    expect(figure.chart?.units.only).toMatchObject({ yTitle: "Light over green’s" });
    expect(figure.data.rows).toHaveLength(15);
    expect(figure.data.columns.map(({ key }) => key)).toEqual([
      "channel",
      "beyond_um",
      "share_percent",
      "share_percent_lo",
      "share_percent_hi",
      "over_reference",
      "over_reference_lo",
      "over_reference_hi",
      "stars",
    ]);
  });

  it("says so where no colour differs, and is not drawn without a halo", () => {
    const { R, ...rest } = makeHalo().channels;
    expect(R).toHaveLength(30);
    const alike = compareHalos([{ ...makeHalo(), channels: rest }], "G", 4);
    expect(drawHalo(makeResults(alike), 0)?.title).toMatch(/^No colour is told/);
    expect(drawHalo(makeResults(null), 0)).toBeNull();
    expect(compareHalos([], "G", 4)).toBeNull();
  });
});
