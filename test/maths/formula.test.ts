import { describe, expect, it } from "vitest";
import { evaluateFormula } from "../../lib/maths/formula.ts";
import { makeUnknown, type Unit } from "../../lib/maths/quantity.ts";

const scale = {
  formula: "206264.806 arcsec * p / f",
  inputs: { p: { value: 3.76, unit: "um/px" }, f: { value: 805, unit: "mm" } },
  unit: "arcsec/px",
  source: "definition",
} as const;

describe("evaluateFormula", () => {
  it("gives 0.963423 arcsec/px for 3.76 um pixels at 805 mm, exact, with formula, working and source", () => {
    expect(evaluateFormula({ ...scale, assumes: "No binning." })).toEqual({
      value: expect.closeTo(0.9634231932, 9),
      unit: "arcsec/px",
      lo: expect.closeTo(0.9634231932, 9),
      hi: expect.closeTo(0.9634231932, 9),
      n: 1,
      formula: "206264.806 arcsec * p / f",
      working: "206264.806 arcsec * (3.76 um/px) / (805 mm)",
      source: "definition",
      assumes: "No binning.",
    });
  });

  it("writes a working that gives the same number when evaluated again", () => {
    const first = evaluateFormula(scale);
    const again = evaluateFormula({
      ...scale,
      formula: first.value === null ? "" : first.working!,
      inputs: {},
    });
    expect(again.value).toBeCloseTo(first.value!, 12);
  });

  it("turns angles by itself: 2 atan(36 mm / (2 x 500 mm)) is 4.123515 deg", () => {
    const field = evaluateFormula({
      formula: "2 * atan(w / (2 * f))",
      inputs: { w: { value: 36, unit: "mm" }, f: { value: 500, unit: "mm" } },
      unit: "deg",
      source: "",
    });
    expect(field.value).toBeCloseTo(4.123515, 6);
  });

  it("gives percent, stops, um/mm and ratios from plain numbers, and takes them as inputs", () => {
    const part = { value: 25, unit: "percent" };
    const evaluate = (formula: string, unit: "percent" | "stop" | "um/mm" | "ratio") =>
      evaluateFormula({ formula, inputs: { a: part }, unit, source: "" }).value;
    expect(evaluate("1 - a", "percent")).toBeCloseTo(75, 12);
    expect(evaluate("log2(1 / a)", "stop")).toBeCloseTo(2, 12);
    expect(evaluate("a", "um/mm")).toBeCloseTo(250, 12);
    expect(evaluate("a", "ratio")).toBeCloseTo(0.25, 12);
    const slope = { value: 2, unit: "um/mm" };
    expect(
      evaluateFormula({ formula: "t * 3 mm", inputs: { t: slope }, unit: "um", source: "" }).value,
    ).toBeCloseTo(6, 12);
    expect(
      evaluateFormula({ formula: "2 * t", inputs: { t: slope }, unit: "um/mm", source: "" }).value,
    ).toBeCloseTo(4, 12);
  });

  it("moves one uncertain input to its ends: f of 800 to 810 mm gives 0.957476 to 0.969445 arcsec/px on 12", () => {
    const inputs = { ...scale.inputs, f: { value: 805, unit: "mm", lo: 800, hi: 810, n: 12 } };
    expect(evaluateFormula({ ...scale, inputs })).toMatchObject({
      lo: expect.closeTo((206.264806 * 3.76) / 810, 9),
      hi: expect.closeTo((206.264806 * 3.76) / 800, 9),
      n: 12,
    });
  });

  it("adds two uncertain inputs in quadrature: 10 +- 3 mm plus 20 +- 4 mm is 30 +- 5 mm on the smaller count", () => {
    const sum = evaluateFormula({
      formula: "a + b",
      inputs: {
        a: { value: 10, unit: "mm", lo: 7, hi: 13, n: 9 },
        b: { value: 20, unit: "mm", lo: 16, hi: 24, n: 5 },
      },
      unit: "mm",
      source: "",
    });
    expect(sum).toMatchObject({ value: 30, lo: 25, hi: 35, n: 5 });
  });

  it("is unknown, for the same reason, where an input is unknown, and where the result is not finite", () => {
    const inputs = { ...scale.inputs, f: makeUnknown("mm", "No frame was solved.") };
    expect(evaluateFormula({ ...scale, inputs })).toEqual({
      value: null,
      unit: "arcsec/px",
      why: "No frame was solved.",
    });
    expect(
      evaluateFormula({ ...scale, inputs: { ...scale.inputs, f: { value: 0, unit: "mm" } } }).value,
    ).toBeNull();
  });

  it("throws where the unit is wrong, an input is missing or unused, or an input is named like a unit", () => {
    expect(() => evaluateFormula({ ...scale, unit: "mm" })).toThrow(/not in mm/);
    expect(() => evaluateFormula({ ...scale, unit: "ratio" })).toThrow(/not in ratio/);
    expect(() => evaluateFormula({ ...scale, inputs: { p: scale.inputs.p } })).toThrow(/names f/);
    expect(() => evaluateFormula({ ...scale, inputs: { ...scale.inputs, q: scale.inputs.p } })).toThrow(
      /does not use q/,
    );
    expect(() =>
      evaluateFormula({ formula: "2 * mm", inputs: { mm: scale.inputs.f }, unit: "mm", source: "" }),
    ).toThrow(/is a unit/);
  });

  it("takes N for the focal ratio that was given, not for newton, and lambda for the wavelength", () => {
    const depth = evaluateFormula({
      formula: "2 * lambda * N ^ 2",
      inputs: { lambda: { value: 550, unit: "nm" }, N: { value: 5, unit: "ratio" } },
      unit: "um",
      source: "",
    });
    expect(depth).toMatchObject({ value: 27.5, working: "2 * (550 nm) * 5 ^ 2" });
  });

  it("takes and gives every unit of the results: 2.5 of each stays 2.5", () => {
    const units: Unit[] = [
      ...([
        "px",
        "um",
        "mm",
        "arcsec",
        "arcmin",
        "deg",
        "arcsec/px",
        "um/mm",
        "um/mm2",
        "mag",
        "stop",
        "percent",
      ] as const),
      ...(["ratio", "ppm", "e-", "ADU", "e-/ADU", "s", "m/s", "arcsec/min", "turn"] as const),
    ];
    for (const unit of units) {
      const same = evaluateFormula({ formula: "a", inputs: { a: { value: 2.5, unit } }, unit, source: "" });
      expect(same.value, unit).toBeCloseTo(2.5, 12);
    }
  });

  it("rounds a measured input in the working to what its interval carries", () => {
    const inputs = { ...scale.inputs, f: { value: 803.123456, unit: "mm", lo: 801, hi: 805 } };
    expect(evaluateFormula({ ...scale, inputs })).toMatchObject({
      working: "206264.806 arcsec * (3.76 um/px) / (803.1 mm)",
    });
  });

  it("tells requests apart by every number, infinite ones too, and gives each caller a quantity of its own", () => {
    const ask = (value: number) =>
      evaluateFormula({ formula: "1 / a", inputs: { a: { value, unit: null } }, unit: "ratio", source: "" });
    expect([ask(4).value, ask(5).value, ask(4).value]).toEqual([0.25, 0.2, 0.25]);
    expect(ask(Number.POSITIVE_INFINITY).value).toBe(0);
    expect(ask(Number.NaN).value).toBeNull();
    const first = ask(8);
    if (first.value !== null) first.value = 1;
    expect(ask(8).value).toBe(0.125);
  });
});
