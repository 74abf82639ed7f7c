import { describe, expect, it } from "vitest";
import { drawNight } from "../../lib/draw/draw-night.ts";
import { makeSampleNight } from "../fixtures/sample-night.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

describe("drawNight(results, test)", () => {
  it("draws 20 exposures of both axes and of the wind, and lists their 60 values", () => {
    const [results] = makeSampleResults();
    results.tests[0].night = makeSampleNight();
    const figure = drawNight(results, 0);
    expect(figure?.title).toBe("The guiding error did not measurably follow the wind");
    expect(figure?.data.rows).toHaveLength(60);
    const [what, minutes, value] = figure?.data.rows[0] ?? [];
    expect([what, minutes]).toEqual(["right ascension", 0.48]);
    expect(value).toBeGreaterThan(0.4);
    expect(figure?.svg).toContain("Guiding error, RMS of one exposure, arcsec");
    expect(figure?.chart?.units.only).toMatchObject({
      yTitle: "Guiding error, arcsec",
      yTitleRight: "Wind, m/s",
      series: [{ slot: "series-1" }, { slot: "series-3" }, { slot: "series-2", axis: "right" }],
    });
    expect(figure?.chart?.units.only).not.toHaveProperty("series.0.axis");
  });

  it("draws the guiding alone without a wind, and nothing without a log", () => {
    const [results] = makeSampleResults();
    results.tests[0].night = { ...makeSampleNight(), windSpans: [] };
    expect(drawNight(results, 0)?.data.rows).toHaveLength(40);
    results.tests[0].night = null;
    expect(drawNight(results, 0)).toBeNull();
  });
});
