import { describe, expect, it } from "vitest";
import { makeMeasured } from "../../lib/maths/quantity.ts";
import { compareNightsFlats } from "../../lib/report/flat-agreement.ts";
import type { TestResults } from "../../lib/report/results.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

const [{ tests }] = makeSampleResults();

/** A night with flats whose map has these percents, brightest 100, and whose corners are all the last of them. */
function makeNight(id: string, channel: string, percent: readonly number[]): TestResults {
  const corner = makeMeasured(
    percent.at(-1) ?? 0,
    "percent",
    (percent.at(-1) ?? 0) - 0.2,
    (percent.at(-1) ?? 0) + 0.2,
    4,
  );
  const corners = { upperLeft: corner, upperRight: corner, lowerLeft: corner, lowerRight: corner };
  const illumination = { [channel]: { corners, map: { percent } } };
  return { ...structuredClone(tests[0]), id, illumination } as unknown as TestResults;
}

describe("compareNightsFlats(tests)", () => {
  it("finds two nights of one light at other exposures alike: 0 whatever the scale", () => {
    const [found] = compareNightsFlats([
      makeNight("a", "L", [100, 95, 90, 80]),
      makeNight("b", "L", [50, 47.5, 45, 40]),
    ]);
    expect(found).toMatchObject({ a: "a", b: "b", channel: "L" });
    expect(found.rms.value).toBeCloseTo(0, 9);
    expect(found.largest.value).toBeCloseTo(0, 9);
  });

  it("states a known difference: corners 2 % darker, root mean square and largest by hand", () => {
    const [then, now] = [
      [100, 96, 92, 80],
      [100, 96, 92, 78],
    ];
    const [found] = compareNightsFlats([makeNight("a", "L", then), makeNight("b", "L", now)]);
    const scale = 368 / 366;
    const differences = now.map((value, k) => value * scale - then[k]);
    const rms = Math.sqrt(differences.reduce((sum, value) => sum + value * value, 0) / 4);
    expect(found.rms.value).toBeCloseTo(rms, 9);
    expect(found.largest.value).toBeCloseTo(Math.abs(78 * scale - 80), 9);
    expect(found.corners.value).toBeCloseTo(-2, 9);
    // Two corners known to 0.2 each.
    expect((found.corners as { hi: number }).hi).toBeCloseTo(-2 + 0.2 * Math.SQRT2, 9);
  });

  it("skips nights without flats, compares each with the last one before it, and never across channels or grids", () => {
    const nights = [
      makeNight("a", "L", [100, 90]),
      { ...tests[0], id: "none", illumination: null },
      makeNight("b", "L", [100, 88]),
      makeNight("c", "R", [100, 88]),
      makeNight("d", "R", [100, 88, 70]),
    ];
    expect(compareNightsFlats(nights).map(({ a, b }) => [a, b])).toEqual([["a", "b"]]);
    expect(compareNightsFlats([])).toEqual([]);
  });
});
