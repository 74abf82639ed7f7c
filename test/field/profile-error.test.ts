import { describe, expect, it } from "vitest";
import {
  estimateLearnedReach,
  findSiteSpacing,
  NO_LEARNED_REACH,
  widenEllipticity,
  widenWidth,
} from "../../lib/field/profile-error.ts";
import { makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";
import { makeStarTable } from "../../lib/stars/star-table.ts";

const onePercent = { ...NO_LEARNED_REACH, widthShare: 0.01 };

describe("widenWidth(width, reach)", () => {
  it("adds 1 % of 3.000 px in quadrature to a reach of 0.040 px: 2.950 to 3.050", () => {
    const widened = widenWidth(makeMeasured(3, "px", 2.96, 3.04, 100), onePercent);
    expect(widened).toMatchObject({ value: 3, n: 100 });
    expect(widened.value === null ? 0 : widened.lo).toBeCloseTo(2.95, 9);
    expect(widened.value === null ? 0 : widened.hi).toBeCloseTo(3.05, 9);
  });

  it("leaves an unknown width and a share of 0 as they are", () => {
    const unknown = makeUnknown("px", "No star.");
    expect(widenWidth(unknown, onePercent)).toBe(unknown);
    expect(widenWidth(makeMeasured(3, "px", 2.96, 3.04, 100), NO_LEARNED_REACH)).toMatchObject({
      lo: 2.96,
      hi: 3.04,
    });
  });
});

describe("widenEllipticity(ellipticity, reach)", () => {
  const reach = { widthShare: 0, ellipticityShare: 0.1, ellipticityFloor: 0.003 };

  it("adds 0.003 and a tenth of 0.04 in quadrature to a reach of 0.012: 0.027 to 0.053", () => {
    const widened = widenEllipticity(makeMeasured(0.04, "ratio", 0.028, 0.052, 50), reach);
    expect(widened.value === null ? 0 : widened.lo).toBeCloseTo(0.027, 9);
    expect(widened.value === null ? 0 : widened.hi).toBeCloseTo(0.053, 9);
  });

  it("lets a component run below 0, an ellipticity not", () => {
    const small = makeMeasured(0.001, "ratio", 0, 0.002, 50);
    expect(widenEllipticity(small, reach)).toMatchObject({ lo: expect.closeTo(-0.00216, 4) });
    expect(widenEllipticity(small, reach, 0)).toMatchObject({ lo: 0 });
  });
});

describe("findSiteSpacing(channel, channels)", () => {
  it("is 1 px on a mono frame, 1.41 px for the green and 2 px for red and blue of a colour-filter array", () => {
    expect(findSiteSpacing("L", 1)).toBe(1);
    expect(["G", "R", "B"].map((channel) => findSiteSpacing(channel, 3))).toEqual([Math.SQRT2, 2, 2]);
  });
});

describe("estimateLearnedReach(tables, siteSpacingPx)", () => {
  const reachOf = (bright: number, fwhmPx = 12, spacingPx = 1) => {
    const table = makeStarTable(400);
    table.snr.fill(30).fill(80, 0, bright);
    table.fwhmMajorPx.fill(fwhmPx);
    table.fwhmMinorPx.fill(fwhmPx);
    return estimateLearnedReach([table], spacingPx);
  };

  it("is 1.0 % of a well sampled width with 168 bright stars and more, 1.6 % with 40, 4 % with 5", () => {
    expect(reachOf(168).widthShare).toBeCloseTo(0.0104, 4);
    expect(reachOf(400)).toEqual(reachOf(168));
    expect(reachOf(40).widthShare).toBeCloseTo(0.016, 3);
    expect(reachOf(5).widthShare).toBeCloseTo(0.0402, 3);
  });

  it("grows to 2.6 % of the width and 14 % of the ellipticity at 1.4 spacings, on a mono frame as on green sites", () => {
    expect(reachOf(168, 1.4).widthShare).toBeCloseTo(0.0257, 3);
    expect(reachOf(168, 1.4).ellipticityShare).toBeCloseTo(0.137, 3);
    expect(reachOf(168, 1.4 * Math.SQRT2, Math.SQRT2).widthShare).toBeCloseTo(
      reachOf(168, 1.4).widthShare,
      9,
    );
  });
});
