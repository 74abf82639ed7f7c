import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { parseFitsHeader } from "../../lib/frames/fits-header.ts";
import {
  computeAxisScalesArcsec,
  computeMeanScaleArcsec,
  computeNorthAngleDeg,
  readWcsMatrix,
} from "../../lib/frames/fits-wcs.ts";
import { makeHeader } from "../frames/fits-bytes.ts";

// Values by astropy 5.2.1; how they were made: test/references/wcs/README.md.
const { cases } = JSON.parse(
  readFileSync(join(import.meta.dirname, "../references/wcs/expected.json"), "utf8"),
) as {
  cases: {
    cards: Record<string, string | number>;
    scalesArcsec: [number, number];
    meanArcsec: number;
    northFromUpDeg: number;
  }[];
};

describe("world coordinates of 20 random headers", () => {
  for (const [index, { cards, scalesArcsec, meanArcsec, northFromUpDeg }] of cases.entries()) {
    const mean = meanArcsec.toFixed(3);
    it(`agree with astropy on header ${index}: ${mean} arcsec per px, north at ${northFromUpDeg.toFixed(2)} degrees`, () => {
      const matrix = readWcsMatrix(parseFitsHeader(makeHeader(Object.entries(cards))))!;
      computeAxisScalesArcsec(matrix).forEach((scale, axis) => {
        expect(scale / scalesArcsec[axis]).toBeCloseTo(1, 10);
      });
      expect(computeMeanScaleArcsec(matrix) / meanArcsec).toBeCloseTo(1, 10);
      // astropy's comes from a step of 3.6 arcsec on the curved sky: good to some 1e-5 degrees.
      const turn = computeNorthAngleDeg(matrix, true) - northFromUpDeg;
      expect(Math.abs(turn - 360 * Math.round(turn / 360))).toBeLessThan(1e-4);
    });
  }
});
