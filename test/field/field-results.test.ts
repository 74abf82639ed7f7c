import { describe, expect, it } from "vitest";
import { makeFieldResults } from "../../lib/field/field-results.ts";
import { fitField } from "../../lib/field/fit-field.ts";
import { computeTrueShapes, drawStarTable, makeOptics, trainF55 } from "./simulate-tables.ts";

describe("makeFieldResults(fit, options)", () => {
  for (const lengthArcsec of [0, 1.5, 3]) {
    it(`gives the seeing of 2.4 arcsec within 2 % where the mount drifts by ${lengthArcsec} arcsec; seeds 1 to 3, on the mean`, () => {
      const optics = makeOptics(trainF55, "tooClose");
      const shapes = computeTrueShapes({
        train: trainF55,
        field: { tiltX: 1, curvature: 0.2, astigmatism: -0.1 },
        seeingArcsec: 2.4,
        tracking: lengthArcsec === 0 ? {} : { drift: { lengthArcsec, angleDeg: 35 } },
      });
      const found = [1, 2, 3].map((seed) => {
        const stars = drawStarTable(shapes, optics, { stars: 1000, seed });
        const fit = fitField([{ stars, focusOffsetUm: 0 }], optics, { seed });
        if ("why" in fit) throw new Error(fit.why);
        return makeFieldResults(fit).seeing.value ?? Number.NaN;
      });
      const mean = found.reduce((sum, value) => sum + value, 0) / found.length;
      expect(Math.abs(mean / 2.4 - 1)).toBeLessThan(0.02);
    });
  }
});
