import { describe, expect, it } from "vitest";
import { computeBackFocus, computeSpacingError } from "../../lib/train/back-focus.ts";
import { listBackFocusExtras } from "../../lib/train/back-focus-extras.ts";
import { applyTest } from "../../lib/train/stack.ts";
import { makeTest, makeTrain } from "./make-train.ts";

describe("computeBackFocus", () => {
  const budget = computeBackFocus(makeTrain())!;

  it("finds 55 mm of parts, 0.682 mm of glass shift and so a sensor 0.682 mm too close", () => {
    expect(budget.required.value).toBe(55);
    expect(budget.mechanical.value).toBe(55);
    expect(budget.plateShift.value).toBeCloseTo(2 * (1 - 1 / 1.517), 10);
    expect(budget.plateShiftRuleOfThumb.value).toBeCloseTo(2 / 3, 10);
    expect(budget.spacingError.value).toBeCloseTo(-2 * (1 - 1 / 1.517), 10);
    expect(budget.plateShift).toMatchObject({
      formula: "t * (1 - 1 / n)",
      working: "(2 mm) * (1 - 1 / 1.517)",
    });
  });

  it("lists the parts from the corrector to the sensor with the distance of their far end: 55, 38.5, 37.5, 17.5 mm", () => {
    expect(budget.lines.map(({ part, lengthMm, fromSensorMm }) => [part, lengthMm, fromSensorMm])).toEqual([
      ["M54 ring", 16.5, 55],
      ["spacer 1 mm", 1, 38.5],
      ["filter drawer", 20, 37.5],
      ["Heron 26, flange to sensor", 17.5, 17.5],
    ]);
    expect(budget.lines.map(({ clearDiameterMm }) => clearDiameterMm)).toEqual([50.5, 50.5, 45, null]);
    expect(budget.lines[2].plateShiftMm).toBeCloseTo(0.68161, 5);
  });

  it("counts the camera's window too: 3 mm of it at 1.5 adds 1 mm", () => {
    const { camera } = makeTrain();
    const glazed = computeBackFocus(
      makeTrain({ camera: { ...camera, windowGlass: { thicknessMm: 3, index: 1.5 } } }),
    )!;
    expect(glazed.plateShift.value).toBeCloseTo(1 + 2 * (1 - 1 / 1.517), 10);
    expect(glazed.plateShift).toMatchObject({ formula: "t_1 * (1 - 1 / n_1) + t_2 * (1 - 1 / n_2)" });
    expect(glazed.lines[3].plateShiftMm).toBeCloseTo(1, 12);
  });

  it("is null without a corrector, and has a shift of 0 without glass", () => {
    expect(computeBackFocus(makeTrain({ corrector: null }))).toBeNull();
    const bare = computeBackFocus(makeTrain({ stack: [{ part: "tube", lengthMm: 37.7 }] }))!;
    expect(bare.plateShift.value).toBe(0);
    expect(bare.spacingError.value).toBeCloseTo(0.2, 10);
  });

  it("adds up forty parts and plates as well as four", () => {
    const stack = Array.from({ length: 40 }, (_, index) => ({
      part: `ring ${index}`,
      lengthMm: 0.9375,
      glass: { thicknessMm: 0.1, index: 1.5 },
    }));
    const tall = computeBackFocus(makeTrain({ stack }))!;
    expect(tall.mechanical.value).toBeCloseTo(55, 10);
    expect(tall.plateShift.value).toBeCloseTo(4 / 3, 10);
  });
});

describe("computeSpacingError", () => {
  it("puts the night's spacers in place of the record's: 1.0 + 0.3 mm leave -0.382 mm", () => {
    expect(computeSpacingError(makeTrain(), makeTest({ spacersMm: [1.0, 0.3] }))?.value).toBeCloseTo(
      -0.381608,
      6,
    );
    expect(computeSpacingError(makeTrain(), makeTest({ spacersMm: [] }))?.value).toBeCloseTo(-1.681608, 6);
    expect(computeSpacingError(makeTrain(), makeTest())?.value).toBeCloseTo(-0.681608, 6);
  });

  it("puts the filter's glass in place of every glass in the stack; a filter of unstated glass changes nothing", () => {
    const thick = makeTest({ filter: { name: "clear", glass: { thicknessMm: 3, index: 1.5 } } });
    expect(computeSpacingError(makeTrain(), thick)?.value).toBeCloseTo(-1, 10);
    const none = makeTest({ filter: { name: "none", glass: { thicknessMm: 0, index: 1.5 } } });
    expect(computeSpacingError(makeTrain(), none)?.value).toBeCloseTo(0, 10);
    expect(computeSpacingError(makeTrain(), makeTest({ filter: { name: "red" } }))?.value).toBeCloseTo(
      -0.681608,
      6,
    );
  });

  it("finds room for spacers and glass that the stack has no place for", () => {
    const train = makeTrain({ stack: [{ part: "tube", lengthMm: 37.5 }] });
    const test = makeTest({
      spacersMm: [0.5],
      filter: { name: "clear", glass: { thicknessMm: 3, index: 1.5 } },
    });
    expect(computeSpacingError(train, test)?.value).toBeCloseTo(-0.5, 10);
  });

  it("leaves the train's record as it was, and is null without a corrector", () => {
    const train = makeTrain();
    applyTest(
      train,
      makeTest({ spacersMm: [2], filter: { name: "x", glass: { thicknessMm: 1, index: 1.5 } } }),
    );
    expect(train).toEqual(makeTrain());
    expect(computeSpacingError(makeTrain({ corrector: null }), makeTest())).toBeNull();
  });
});

describe("listBackFocusExtras", () => {
  it("states the distance with glass, 55.682 mm, and the aberration the glass adds, 3.06 um or 0.011 waves at f/5.53", () => {
    const extras = Object.fromEntries(
      listBackFocusExtras(makeTrain()).map(({ id, quantity }) => [id, quantity.value]),
    );
    expect(extras["requiredWithGlass"]).toBeCloseTo(55.681608, 6);
    expect(extras["plateSpherical"]).toBeCloseTo(3.062, 3);
    expect(extras["plateWavefront"]).toBeCloseTo(0.01132, 5);
    expect(extras["plateShiftMarginal"]).toBeCloseTo(0.68467, 6);
  });

  it("is empty without a corrector and leaves out glass where there is none", () => {
    expect(listBackFocusExtras(makeTrain({ corrector: null }))).toEqual([]);
    const ids = listBackFocusExtras(makeTrain({ stack: [] })).map(({ id }) => id);
    expect(ids).toEqual(["requiredWithGlass", "scalePerMillimetre"]);
  });
});
