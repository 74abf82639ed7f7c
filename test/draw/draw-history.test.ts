import { describe, expect, it } from "vitest";
import { drawHistory } from "../../lib/draw/draw-history.ts";
import { makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";
import type { TestResults, TrainResults } from "../../lib/report/results.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

/** A night whose widths, 9 um in the centre, are known to 10 % only, and whose corners are wider by `excess`. */
function makeNight(sample: TestResults, date: string, excess: number, isRatioKnown: boolean): TestResults {
  const test = structuredClone(sample);
  if (test.zones === null) throw new Error("the sample test has zones");
  const width = (um: number) => makeMeasured(um, "um", 0.9 * um, 1.1 * um, 300);
  test.zones.centre.fwhm.um = width(9);
  test.zones.corner.fwhm.um = width(9 * (1 + excess));
  const ratio = isRatioKnown
    ? makeMeasured(1 + excess, "ratio", 0.995 + excess, 1.005 + excess, 300)
    : makeUnknown("ratio", "no pairs");
  const corners = { upperLeft: ratio, upperRight: ratio, lowerLeft: ratio, lowerRight: ratio };
  test.contrasts = {
    overCentre: { ...corners, middle: ratio, outer: ratio, corner: ratio },
    lowerRightOverUpperLeft: ratio,
    lowerLeftOverUpperRight: ratio,
  };
  return { ...test, id: date, date };
}

function tell(excesses: readonly [number, number], isRatioKnown: boolean): string | undefined {
  const [results]: TrainResults[] = makeSampleResults();
  const [sample] = results.tests;
  results.tests = excesses.map((excess, k) => makeNight(sample, `2026-10-0${k + 3}`, excess, isRatioKnown));
  return drawHistory(results)?.title.replaceAll("\u00a0", " ");
}

describe("title of the corners against the centre over the tests", () => {
  it("tells a fall from 8 to 1 % by the ratio within the frames, though the night leaves each width open by 10 %", () => {
    expect(tell([0.08, 0.01], true)).toBe("The corners’ excess over the centre fell from 8 to 1 %");
  });

  it("tells no change between 1.0 and 1.2 %, each known to 0.5 %", () => {
    expect(tell([0.01, 0.012], true)).toContain("no change beyond the intervals");
  });

  it("claims nothing from 8 to 1 % where only the two widths are known, to 10 % each", () => {
    expect(tell([0.08, 0.01], false)).toContain("no change beyond the intervals");
  });
});
