import { describe, expect, it } from "vitest";
import { makeMeasured } from "../../lib/maths/quantity.ts";
import { listSamplingExtras } from "../../lib/train/sampling-extras.ts";
import { makeTrain } from "./make-train.ts";

function pick(train = makeTrain(), measured = {}) {
  const extras = listSamplingExtras(train, measured);
  return (id: string) => {
    const found = extras.find((extra) => extra.id === id);
    if (found === undefined) throw new Error(`no extra ${id}`);
    return found;
  };
}

describe("listSamplingExtras", () => {
  it("names each number once and explains it in sentences", () => {
    const extras = listSamplingExtras(
      makeTrain({ telescope: { ...makeTrain().telescope, obstructionMm: 40 } }),
    );
    expect(new Set(extras.map(({ id }) => id)).size).toBe(extras.length);
    for (const { id, name, explanation } of extras) {
      expect(explanation.trim(), id).toMatch(/^[A-Z].+[.]$/);
      expect(name.length, id).toBeGreaterThan(3);
    }
  });

  it("gives the pixels across 2, 3 and 4 arcsec at 1.2195 arcsec/px: 1.640, 2.460, 3.280", () => {
    const extra = pick();
    expect(extra("pixelsPer2Arcsec").quantity.value).toBeCloseTo(1.63999, 4);
    expect(extra("pixelsPer3Arcsec").quantity.value).toBeCloseTo(2.45998, 4);
    expect(extra("pixelsPer4Arcsec").quantity.value).toBeCloseTo(3.27997, 4);
  });

  it("judges the night's sampling by its own width, and says nothing of a night not measured", () => {
    const at = (width: number) =>
      pick(makeTrain(), { fwhmCentrePx: makeMeasured(width, "px", width, width, 9) })("seeingMeasured")
        .explanation;
    expect(at(1.3)).toMatch(/ undersampled: /);
    expect(at(1.8)).toMatch(/slightly undersampled/);
    expect(at(4)).toMatch(/well sampled/);
    expect(at(8)).toMatch(/more finely than they need/);
    expect(pick()("seeingMeasured").quantity.value).toBeNull();
    expect(pick()("focusToleranceMeasured").quantity.value).toBeNull();
  });

  it("states the whole depth of focus as twice the one-sided one: 67.28 um at f/5.53", () => {
    expect(pick()("depthOfFocusTotal").quantity.value).toBeCloseTo(4 * 0.55 * 5.53 ** 2, 8);
  });

  it("widens the measured width's interval into its angle: 2.5 +- 0.1 px is 3.049 +- 0.122 arcsec", () => {
    const night = { fwhmCentrePx: makeMeasured(2.5, "px", 2.4, 2.6, 80) };
    expect(pick(makeTrain(), night)("seeingMeasured").quantity).toMatchObject({
      value: expect.closeTo(3.0488, 4),
      lo: expect.closeTo(2.9269, 4),
      hi: expect.closeTo(3.1708, 4),
      n: 80,
    });
  });

  it("finds 1 for the light from each square arcsecond, and 0.68 stops for each pixel of the reducer", () => {
    expect(pick()("lightPerSky").quantity.value).toBe(1);
    expect(pick()("lightGraspStops").quantity.value).toBeCloseTo(2 * Math.log2(1 / 0.79), 10);
  });

  it("adds the annular values only with an obstruction, which leaves 1 - (40/115)^2 = 87.9 % of the light", () => {
    const extra = pick(makeTrain({ telescope: { ...makeTrain().telescope, obstructionMm: 40 } }));
    expect(extra("lightObstructed").quantity.value).toBeCloseTo(87.9017, 4);
    expect(extra("annularFwhm").quantity.value!).toBeLessThan(extra("diffractionFwhm").quantity.value!);
    expect(() => pick()("annularFwhm")).toThrow();
  });
});
