import { describe, expect, it } from "vitest";
import { measureContourResidual } from "../../lib/stars/contour-residual.ts";
import { makeMoffatProfile } from "../../lib/stars/profile.ts";
import { gatherStamp, makeStamp } from "../../lib/stars/stamp.ts";
import { makeRoundStar } from "../../lib/stars/star-model.ts";
import { drawAnalyticStar } from "./analytic-stars.ts";

describe("measureContourResidual(stamp, profile, noise, star)", () => {
  for (const angleDeg of [0, 35, 90]) {
    it(`finds the ellipticity a round model lacks of a star of e 0.05 at ${angleDeg} deg, within 5 %`, () => {
      const size = 31;
      const stretch = (1.05 / 0.95) ** 0.25;
      const star = {
        x: 15.2,
        y: 14.7,
        flux: 1e5,
        fwhmMajorPx: 4 * stretch,
        fwhmMinorPx: 4 / stretch,
        angleDeg,
        beta: 3,
      };
      const samples = Float32Array.from(drawAnalyticStar(star, size));
      const stamp = makeStamp(11);
      const plane = { widthPx: size, heightPx: size, samples, sites: [true, true, true, true] as const };
      gatherStamp(stamp, plane, 15, 15, 11, 0, Number.POSITIVE_INFINITY);
      // Area of a Moffat star of exponent 3: pi a b / ((2^(1/3) - 1) 2).
      const peak = 1e5 / ((Math.PI * 4) / ((2 ** (1 / 3) - 1) * 2));
      const noise = { sigmaAdu: 10, gainElectronsPerAdu: 1, backgroundSigmaAdu: 1 };
      const found = measureContourResidual(
        stamp,
        makeMoffatProfile(3),
        noise,
        makeRoundStar(star.x, star.y, peak, 4),
      );
      const twice = (2 * angleDeg * Math.PI) / 180;
      expect(Math.abs(found.e1 - 0.05 * Math.cos(twice))).toBeLessThan(0.0025);
      // On the pixel grid y runs down, so the cross term has the other sign.
      expect(Math.abs(found.e2 + 0.05 * Math.sin(twice))).toBeLessThan(0.0025);
      expect(found.weight).toBeGreaterThan(0);
    });
  }
});
