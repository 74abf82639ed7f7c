import { describe, expect, it } from "vitest";
import { compareScales } from "../../lib/compare/compare-scales.ts";
import { compareTests } from "../../lib/compare/compare-tests.ts";
import type { ComparisonSide } from "../../lib/compare/comparison-side.ts";
import { useFocalLength } from "../../lib/compare/use-scale.ts";
import type { Quantity } from "../../lib/maths/quantity.ts";
import { addPlateSolution, drawCommonSide } from "./common-sides.ts";

const native = drawCommonSide({ id: "native", trueFocalLengthMm: 805, seed: 1 });
const reduced = drawCommonSide({
  id: "reduced",
  trueFocalLengthMm: 0.7 * 805,
  factor: 0.73,
  turnDeg: 31,
  seed: 2,
});
const elsewhere = drawCommonSide({
  id: "elsewhere",
  trueFocalLengthMm: 0.73 * 805,
  factor: 0.73,
  seed: 3,
  sky: 77,
});

const compare = (a: ComparisonSide, b: ComparisonSide, states: ComparisonSide[] = []) =>
  compareScales({ id: "x", name: "x", a, b, states });

function readValue(quantity: Quantity): number {
  if (quantity.value === null) throw new Error(quantity.why);
  return quantity.value;
}

describe("compareScales", () => {
  it("measures 0.700 within 0.02 % where the records say 0.730, turned by 31 degrees, and says that it lies 4.1 % below (seeds 1, 2)", () => {
    const { ratio, rotation, scales } = compare(native, reduced);
    expect(Math.abs(readValue(ratio) / 0.7 - 1)).toBeLessThan(2e-4);
    expect(readValue(rotation)).toBeCloseTo(31, 2);
    expect(scales.from).toBe("stars");
    expect(readValue(scales.againstNominal)).toBeCloseTo(-4.11, 1);
    expect(scales.sentences.join(" ")).toMatch(/It lies 4\.1 % below the nominal ratio of 0\.7300\./);
    // The telescope's own focal length is the measure, the reduced one follows.
    expect(readValue(scales.focalLength.a)).toBe(805);
    expect(readValue(scales.focalLength.b)).toBeCloseTo(563.5, 0);
    expect(readValue(scales.focalRatio.b)).toBeCloseTo(563.5 / 115, 2);
  });

  it("is within 0.02 % with about 100 common stars and within 0.1 % with 10 to 36, errors of 0.1 px, turned, 0.2 % distorted, three magnitudes of depth apart (seeds 1 to 10)", () => {
    for (const [faintest, least, most, allowed] of [
      [9.1, 75, 140, 2e-4],
      [7.4, 10, 36, 1e-3],
    ]) {
      for (let seed = 1; seed <= 10; seed++) {
        const common = { sky: 300 + seed, errorPx: 0.1 };
        const a = drawCommonSide({ ...common, id: "a", trueFocalLengthMm: 805, faintest, seed });
        const deeper = { faintest: Math.min(10, faintest + 3), distortion: 0.002, turnDeg: 29 * seed };
        const b = drawCommonSide({
          ...common,
          ...deeper,
          id: "b",
          trueFocalLengthMm: 0.73 * 805,
          factor: 0.73,
          seed: 50 + seed,
        });
        const { ratio, scales } = compare(a, b);
        expect(scales.from, `faintest ${faintest}, seed ${seed}`).toBe("stars");
        expect(scales.commonStars).toBeGreaterThanOrEqual(least);
        expect(scales.commonStars).toBeLessThanOrEqual(most);
        expect(Math.abs(readValue(ratio) / 0.73 - 1), `faintest ${faintest}, seed ${seed}`).toBeLessThan(
          allowed,
        );
      }
    }
  });

  it("finds f_R = 200 mm and a principal plane 1.0 mm in front of the shoulder from factors at three spacings, m = 1 - d / f_R", () => {
    const factorAt = (spacingMm: number) => 1 - (spacingMm + 1) / 200;
    const makeState = (spacingErrorMm: number, seed: number) =>
      drawCommonSide({
        id: `state ${spacingErrorMm}`,
        trueFocalLengthMm: 805 * factorAt(55 + spacingErrorMm),
        factor: 0.72,
        spacingErrorMm,
        seed,
      });
    const [compared, ...states] = [makeState(0, 11), makeState(-1.5, 12), makeState(1.5, 13)];
    const { reducer } = compare(native, compared, states).scales;
    if (reducer === null) throw new Error("no reducer");
    expect(reducer.side).toBe("b");
    expect(reducer.states.map(({ spacingMm }) => spacingMm)).toEqual([53.5, 55, 56.5]);
    for (const { spacingMm, factor } of reducer.states)
      expect(readValue(factor)).toBeCloseTo(factorAt(spacingMm), 3);
    const { focalLength, principalPlane } = reducer;
    if (focalLength.value === null || principalPlane.value === null) throw new Error("no thin lens");
    expect(focalLength.lo).toBeLessThan(200);
    expect(focalLength.hi).toBeGreaterThan(200);
    expect(Math.abs(focalLength.value / 200 - 1)).toBeLessThan(0.03);
    // d is counted from the shoulder; the lens lies where m = 1, at d = -1.
    expect(principalPlane.lo).toBeLessThan(-1);
    expect(principalPlane.hi).toBeGreaterThan(-1);
    expect(readValue(reducer.perTenthMm)).toBeCloseTo(-10 / (200 * factorAt(55)), 2);
    expect(reducer.sentence).toMatch(
      /^0\.1 mm more spacing shortens the focal length by 0\.069 %, measured over 3 spacings/,
    );
  });

  it("takes the thin lens of the record where one spacing was measured, and says that it was not measured", () => {
    const one = drawCommonSide({
      id: "one",
      trueFocalLengthMm: 0.73 * 805,
      factor: 0.73,
      spacingErrorMm: 0,
      seed: 5,
    });
    const { reducer } = compare(native, one).scales;
    expect(reducer?.focalLength.value).toBeNull();
    // -(1 - m) / (d m) of 0.1 mm.
    expect(readValue(reducer?.perTenthMm ?? { value: null, unit: "percent", why: "" })).toBeCloseTo(
      (-10 * 0.27) / (55 * 0.73),
      3,
    );
    expect(reducer?.sentence).toMatch(
      /^As a thin lens, 0\.1 mm more spacing shortens .* would measure it\.$/,
    );
  });

  it("says that a mirror is in one of the trains, and measures the ratio through it", () => {
    const mirrored = drawCommonSide({
      id: "mirrored",
      trueFocalLengthMm: 563.5,
      mirrored: true,
      turnDeg: 12,
      seed: 6,
    });
    const { ratio, scales } = compare(native, mirrored);
    expect(scales.mirrored).toBe(true);
    expect(Math.abs(readValue(ratio) / 0.7 - 1)).toBeLessThan(2e-4);
    expect(scales.sentences.join(" ")).toMatch(/as in a mirror.*Left and right corners change places/);
  });

  it("falls back to the records where no star is common, and says so", () => {
    const { ratio, rotation, scales } = compare(native, elsewhere);
    expect(readValue(ratio)).toBeCloseTo(0.73, 12);
    expect(rotation.value).toBeNull();
    expect(scales).toMatchObject({ from: "records", commonStars: 0, mirrored: null, reducer: null });
    expect(scales.againstNominal.value).toBeNull();
    expect(scales.sentences[0]).toMatch(
      /^The ratio is that of the records and was not measured\. No figure of stars is common to both sides \(\d+ and \d+ stars searched\)/,
    );
  });

  it("takes plate solutions before the records where no star is common: 0.9634 and 1.3000 arcsec/px are 0.7411", () => {
    const { ratio, scales } = compare(addPlateSolution(native, 0.9634), addPlateSolution(elsewhere, 1.3));
    expect(readValue(ratio)).toBeCloseTo(0.9634 / 1.3, 9);
    expect(scales.from).toBe("plate solutions");
    expect(scales.sentences[0]).toMatch(/^The ratio is from plate solutions in the frames' headers\./);
    expect(readValue(scales.focalLength.b)).toBeCloseTo((206.264806 * 3.76) / 1.3, 5);
    // One side alone solved is no ratio.
    expect(compare(addPlateSolution(native, 0.9634), elsewhere).scales.from).toBe("records");
  });

  it("lets common stars rule over plate solutions, and the better solved side be the measure of both", () => {
    const { ratio, scales } = compare(native, addPlateSolution(reduced, 1.38));
    expect(scales.from).toBe("stars");
    expect(Math.abs(readValue(ratio) / 0.7 - 1)).toBeLessThan(2e-4);
    expect(readValue(scales.focalLength.b)).toBeCloseTo((206.264806 * 3.76) / 1.38, 5);
    expect(readValue(scales.focalLength.a)).toBeCloseTo((206.264806 * 3.76) / 1.38 / 0.7, 0);
  });

  it("names the side that has no stars or too few", () => {
    const bare = { ...reduced, tables: [] };
    expect(compare(native, bare).scales.why).toBe(
      "Side B has no star measured: the ratio cannot be measured.",
    );
    expect(compare({ ...bare, test: null }, native).scales.why).toMatch(/^Side A has no test yet/);
    const few = drawCommonSide({ id: "few", trueFocalLengthMm: 563.5, factor: 0.7, faintest: 2.2, seed: 7 });
    expect(compare(native, few).scales.why).toMatch(
      /^Matching needs 8 stars on each side; A has \d+, B has [0-7]\.$/,
    );
  });

  it("finds a ratio of 1 and no turn between a test and itself", () => {
    const { ratio, rotation, scales } = compare(native, native);
    expect(readValue(ratio)).toBeCloseTo(1, 9);
    expect(readValue(rotation)).toBeCloseTo(0, 9);
    expect(scales.reducer).toBeNull();
  });
});

describe("arcseconds of a comparison", () => {
  it("go by the focal length measured against the other side: 3 px of B are 4.13 arcsec at 563.5 mm, not 3.96 at the record's 587.7", () => {
    const fewer = {
      a: drawCommonSide({ id: "native", trueFocalLengthMm: 805, faintest: 9, seed: 1 }),
      b: drawCommonSide({ id: "reduced", trueFocalLengthMm: 563.5, factor: 0.73, faintest: 9, seed: 2 }),
    };
    const { zones, sides } = compareTests({ id: "x", name: "x", ...fewer }, null);
    expect(sides.b.ownScale?.arcsecPerPx).toBeCloseTo((206.264806 * 3.76) / 587.65, 6);
    expect(sides.b.scale?.arcsecPerPx).toBeCloseTo((206.264806 * 3.76) / 563.5, 3);
    expect(sides.b.scale?.from).toBe("the measured ratio");
    expect(sides.a.scale).toEqual(sides.a.ownScale);
    const { b, difference, a } = zones.corner;
    expect(readValue(b.arcsec)).toBeCloseTo((3 * 206.264806 * 3.76) / 563.5, 2);
    expect(readValue(difference.arcsec)).toBeCloseTo(readValue(b.arcsec) - readValue(a.arcsec), 2);
    expect(readValue(b.px)).toBeCloseTo(3, 1);
  });

  it("stay those of the side's own page where the measured focal length says the same within 0.05 %", () => {
    const scale = { umPerPx: 3.76, arcsecPerPx: 0.9634, focalLengthMm: 805, from: "record" };
    expect(useFocalLength(scale, null)).toBe(scale);
    expect(useFocalLength(scale, 805.3)).toBe(scale);
    expect(useFocalLength(scale, 806).arcsecPerPx).toBeCloseTo((206.264806 * 3.76) / 806, 8);
  });
});
