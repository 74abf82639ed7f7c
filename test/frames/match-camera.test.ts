import { describe, expect, it } from "vitest";
import { NO_FACTS } from "../../lib/frames/fits-facts.ts";
import type { Frame, HeaderFacts } from "../../lib/frames/frame.ts";
import { type CameraMatch, matchFrameToCamera } from "../../lib/frames/match-camera.ts";

const camera = { widthPx: 6249, heightPx: 4176, pixelPitchUm: 3.76 };

function match(
  widthPx: number,
  heightPx: number,
  header: Partial<HeaderFacts> = {},
  format: Frame["format"] = "fits",
) {
  return matchFrameToCamera(
    { file: "f.fits", format, widthPx, heightPx, header: { ...NO_FACTS, ...header } },
    camera,
  );
}

const expectMatch = (result: ReturnType<typeof match>): CameraMatch => {
  expect(result).toHaveProperty("binning");
  return result as CameraMatch;
};

describe("matchFrameToCamera", () => {
  it("takes a frame of the camera's size as whole, without a warning", () => {
    expect(match(6249, 4176)).toEqual({
      binning: 1,
      offsetXPx: 0,
      offsetYPx: 0,
      umPerPx: 3.76,
      warnings: [],
    });
  });

  it("takes half the size as binning 2, 7.52 um, the odd column dropped or kept", () => {
    for (const widthPx of [3124, 3125]) {
      expect(match(widthPx, 2088, { binning: 2 })).toMatchObject({
        binning: 2,
        umPerPx: 7.52,
        offsetXPx: 0,
        warnings: [],
      });
    }
    expect(expectMatch(match(3124, 2088)).warnings).toHaveLength(1);
  });

  it("believes the size where the header's binning contradicts it, and says so", () => {
    const { binning, warnings } = expectMatch(match(2083, 1392, { binning: 2 }));
    expect(binning).toBe(3);
    expect(warnings.join()).toContain("binning 2");
  });

  it("places a crop by XORGSUBF and YORGSUBF, rows from the bottom counted from the top", () => {
    const keywords = { XORGSUBF: "1000", YORGSUBF: "100" };
    expect(match(2000, 1000, { keywords })).toMatchObject({
      offsetXPx: 1000,
      offsetYPx: 4176 - 1100,
      warnings: [],
    });
    const topDown = { ...keywords, ROWORDER: "TOP-DOWN" };
    expect(match(2000, 1000, { keywords: topDown })).toMatchObject({ offsetXPx: 1000, offsetYPx: 100 });
    expect(match(1000, 500, { binning: 2, keywords })).toMatchObject({
      binning: 2,
      offsetXPx: 2000,
      offsetYPx: 2976,
    });
  });

  it("places a crop by DETSEC, which counts sensor pixels from 1", () => {
    expect(match(2000, 1000, { keywords: { DETSEC: "[1001:3000, 101:1100]" } })).toMatchObject({
      offsetXPx: 1000,
      offsetYPx: 4176 - 1100,
    });
  });

  it("takes a crop of unknown place, or one placed outside the sensor, from the centre with a warning", () => {
    for (const keywords of [{}, { XORGSUBF: "5000", YORGSUBF: "0" }, { XORGSUBF: "-1", YORGSUBF: "x" }]) {
      const { offsetXPx, offsetYPx, warnings } = expectMatch(
        match(2000, 1000, { keywords: keywords as Record<string, string> }),
      );
      expect([offsetXPx, offsetYPx]).toEqual([2124, 1588]);
      expect(warnings.join()).toContain("centre");
    }
  });

  it("refuses a frame larger than the sensor, and tells a turned one", () => {
    expect(match(6300, 4176)).toMatchObject({
      code: "frames/wrong-size",
      file: "f.fits",
      found: "6300 x 4176 px",
    });
    const turned = match(4176, 6249, {}, "tiff");
    expect(turned).toMatchObject({ code: "frames/wrong-size" });
    expect("fix" in turned && turned.fix).toContain("turned");
    expect(match(4000, 3000, { binning: 2 })).toMatchObject({ code: "frames/wrong-size" });
  });

  it("warns of a pixel size that is neither the record's nor its binned one", () => {
    expect(expectMatch(match(3124, 2088, { binning: 2, pixelPitchUm: 7.52 })).warnings).toEqual([]);
    expect(expectMatch(match(3124, 2088, { binning: 2, pixelPitchUm: 3.76 })).warnings).toEqual([]);
    expect(expectMatch(match(6249, 4176, { pixelPitchUm: 4.63 })).warnings.join()).toContain("4.63");
  });
});
