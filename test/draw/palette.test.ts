import { describe, expect, it } from "vitest";
import { computeContrast, formatColour, grounds, readLinearColour } from "../../lib/draw/palette.ts";

/**
 * What a dichromat sees of a colour, in linear sRGB: Viénot, Brettel & Mollon 1999 (Color Res. Appl. 24:243), with the
 * matrices for sRGB from memory. Rows sum to one, so that greys stay grey.
 */
const simulated = {
  protan: [
    [0.11238, 0.88762, 0],
    [0.11238, 0.88762, 0],
    [0.00401, -0.00401, 1],
  ],
  deutan: [
    [0.29275, 0.70725, 0],
    [0.29275, 0.70725, 0],
    [-0.02234, 0.02234, 1],
  ],
};

/** OKLab coordinates of linear sRGB (Ottosson 2020). */
function toLab([r, g, b]: readonly number[]): number[] {
  const l = Math.cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b);
  const m = Math.cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b);
  const s = Math.cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b);
  return [
    0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s,
    1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s,
    0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s,
  ];
}

const multiply = (matrix: number[][], vector: readonly number[]) =>
  matrix.map((row) => row.reduce((sum, factor, k) => sum + factor * vector[k], 0));
const distance = (a: readonly number[], b: readonly number[]) =>
  Math.hypot(...a.map((value, k) => value - b[k]));

describe("computeContrast(one, other)", () => {
  it("gives 21 for black on white and 4.54 for #767676 on white (WCAG 2.2)", () => {
    expect(computeContrast("#000000", "#ffffff")).toBeCloseTo(21, 6);
    expect(computeContrast("#767676", "#ffffff")).toBeCloseTo(4.54, 2);
  });
});

describe("formatColour(colour)", () => {
  it("gives sRGB red for OKLCH 0.62796, 0.25768, 29.234 deg (CSS Color 4, sample conversion)", () => {
    expect(formatColour({ lightness: 0.62796, chroma: 0.25768, hueDeg: 29.2339 })).toBe("#ff0000");
  });
});

describe.each(Object.entries(grounds))("the colours on the %s ground", (_, ground) => {
  it.each([...ground.series, ground.rule, ground.accent])(
    "keep mark %s at 3 : 1 against the paper",
    (colour) => {
      expect(computeContrast(colour, ground.paper)).toBeGreaterThanOrEqual(3);
    },
  );

  it("keep letters at 4.5 : 1 against the paper (WCAG 2.2, 1.4.3)", () => {
    expect(computeContrast(ground.ink, ground.paper)).toBeGreaterThanOrEqual(4.5);
    expect(computeContrast(ground.inkSoft, ground.paper)).toBeGreaterThanOrEqual(4.5);
    expect(computeContrast(ground.accent, ground.paper)).toBeGreaterThanOrEqual(4.5);
  });

  it("keep series and ink apart by 0.12 in OKLab for full, protan and deutan sight", () => {
    const linear = [...ground.series, ground.ink].map(readLinearColour);
    for (const view of [linear, ...Object.values(simulated).map((m) => linear.map((c) => multiply(m, c)))]) {
      const lab = view.map((colour) => toLab(colour.map((value) => Math.max(0, value))));
      for (let a = 0; a < lab.length; a++) {
        for (let b = a + 1; b < lab.length; b++) expect(distance(lab[a], lab[b])).toBeGreaterThan(0.12);
      }
    }
  });

  it("rise evenly in lightness, each step within 10 % of the mean one", () => {
    const lightness = ground.series.map((colour) => toLab(readLinearColour(colour))[0]);
    const steps = lightness.slice(1).map((value, k) => value - lightness[k]);
    const mean = (lightness[3] - lightness[0]) / 3;
    for (const step of steps) expect(Math.abs(step / mean - 1)).toBeLessThan(0.1);
  });
});
