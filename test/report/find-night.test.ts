import { describe, expect, it } from "vitest";
import { makeMeasured } from "../../lib/maths/quantity.ts";
import { findNight } from "../../lib/report/find-night.ts";
import { makeSampleNight } from "../fixtures/sample-night.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

describe("the finding on guiding", () => {
  it("is a note where it makes up 18 % of the blur, with no order to do anything", () => {
    const [{ tests }] = makeSampleResults();
    tests[1].night = makeSampleNight();
    const [finding, ...others] = findNight(tests);
    expect(others).toEqual([]);
    expect(finding).toMatchObject({
      name: "guiding",
      level: "note",
      evidence: ["tests.1.night"],
      action: null,
    });
    expect(finding.sentence).toMatch(
      /^By the log of \d+ October 2026 guiding wandered by 0\.\d\d arcsec .* at most \d\d % of the blur/,
    );
  });

  it("asks to mend the mount where it makes up 40 % (35 to 45)", () => {
    const [{ tests }] = makeSampleResults();
    tests[0].night = { ...makeSampleNight(), shareOfBlur: makeMeasured(40, "percent", 35, 45, 600) };
    const [finding] = findNight(tests);
    expect(finding.level).toBe("watch");
    expect(finding.action).toContain("balance and guiding");
  });

  it("is none without a log, or where the stars do not tell the share", () => {
    const [{ tests }] = makeSampleResults();
    tests[0].night = null;
    expect(findNight(tests)).toEqual([]);
    tests[0].night = {
      ...makeSampleNight(),
      shareOfBlur: { value: null, unit: "percent", why: "No stars were measured at the centre." },
    };
    expect(findNight(tests)).toEqual([]);
  });
});
