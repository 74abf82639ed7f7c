import { describe, expect, it } from "vitest";
import { chooseFocalLength } from "../../lib/train/focal-length.ts";
import {
  computeReducerFocalLength,
  computeReducerState,
  locateReducer,
} from "../../lib/train/reducer-spacing.ts";
import { makeTrain } from "./make-train.ts";

describe("chooseFocalLength", () => {
  const given = { record: makeTrain(), headerFocalLength: null, wcsScale: null, pixelPitch: 3.76 };

  it("takes the plate solution first: 1.2230 arcsec/px at 3.76 um is 634.14 mm", () => {
    const choice = chooseFocalLength({ ...given, wcsScale: 1.223, headerFocalLength: 636 });
    expect(choice.from).toBe("plate solution");
    expect(choice.focalLength.value).toBeCloseTo(634.142, 2);
    expect(choice.warnings).toEqual([]);
  });

  it("takes the record where no frame was solved: 635.95 mm", () => {
    const choice = chooseFocalLength(given);
    expect(choice.from).toBe("record");
    expect(choice.focalLength.value).toBeCloseTo(635.95, 10);
  });

  it("warns of a header with the bare telescope's 805 mm, 26.6 % from the record's, and goes by the record", () => {
    const choice = chooseFocalLength({ ...given, headerFocalLength: 805 });
    expect(choice.from).toBe("record");
    expect(choice.warnings).toEqual([
      expect.stringMatching(/record gives .* 636.0 mm, the header 805.0 mm: 26.6 % apart/),
    ]);
  });

  it("warns where the plate solution and the record differ by 2.1 %, and not at 1.9 %", () => {
    const scaleFor = (focalLength: number) => (206.264806 * 3.76) / focalLength;
    expect(chooseFocalLength({ ...given, wcsScale: scaleFor(635.95 / 1.021) }).warnings.length).toBe(1);
    expect(chooseFocalLength({ ...given, wcsScale: scaleFor(635.95 / 1.019) }).warnings.length).toBe(0);
  });

  it("takes the header where nothing else is known, and says so where nothing is", () => {
    expect(chooseFocalLength({ ...given, record: null, headerFocalLength: 500 })).toMatchObject({
      from: "header",
    });
    expect(chooseFocalLength({ ...given, record: null }).focalLength.value).toBeNull();
    expect(chooseFocalLength({ ...given, wcsScale: 0, headerFocalLength: -3 }).from).toBe("record");
  });
});

describe("reducer spacing", () => {
  it("turns back: the lens of a 0.79 factor at 55 mm has 261.9 mm, and gives 0.79 at 55 mm", () => {
    const focalLength = computeReducerFocalLength(55, 0.79);
    expect(focalLength).toBeCloseTo(261.905, 3);
    expect(computeReducerState(55, focalLength).factor).toBeCloseTo(0.79, 12);
  });

  it("forms no image at or beyond its own focal length: NaN", () => {
    expect(computeReducerState(200, 200).factor).toBeNaN();
    expect(computeReducerState(-1, 200).factor).toBeNaN();
  });

  it("is found again from two measured factors: 240 mm, principal plane 4 mm before the shoulder", () => {
    const at = (spacingMm: number) => ({ spacingMm, factor: 1 - (spacingMm + 4) / 240 });
    const located = locateReducer(at(54), at(56.5));
    expect(located.focalLengthMm).toBeCloseTo(240, 8);
    expect(located.principalPlaneMm).toBeCloseTo(-4, 8);
    expect(locateReducer(at(55), at(55)).focalLengthMm).toBeNaN();
  });
});
