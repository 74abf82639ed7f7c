import { describe, expect, it } from "vitest";
import { decodeMeasurement } from "../../lib/measured/decode-measurement.ts";
import { encodeMeasurement } from "../../lib/measured/encode-measurement.ts";
import { MEASUREMENT_FORMAT, type TestMeasurement } from "../../lib/measured/test-measurement.ts";
import { decodeFrame } from "../../lib/stars/decode-frame.ts";
import { encodeFrame } from "../../lib/stars/encode-frame.ts";
import type { FrameMeasurement } from "../../lib/stars/frame-measurement.ts";
import { STAR_FLAGS } from "../../lib/stars/star-table.ts";
import { drawTables } from "../field/draw-tables.ts";

function makeFrame(stars: number): FrameMeasurement {
  const [table] = drawTables({ seed: 71, stars, frames: 1 });
  table.flags[1] = STAR_FLAGS.failed;
  table.fwhmMajorPx[1] = Number.NaN;
  return {
    file: "frames/field-1.fits",
    sha256: "ab".repeat(32),
    key: "cd".repeat(16),
    format: "fits",
    widthPx: 6248,
    heightPx: 4176,
    header: {
      kind: "light",
      exposureS: 60,
      filter: null,
      dateObs: null,
      binning: null,
      pixelPitchUm: 3.76,
      focalLengthMm: null,
      wcsScaleArcsecPerPx: null,
      wcsRotationDeg: null,
      altitudeDeg: null,
      focuserPosition: null,
      asked: { OBJCTALT: "62.1" },
      cropOriginPx: null,
    },
    warnings: [],
    channels: [
      {
        channel: "L",
        found: stars + 3,
        background: { median: 500.25, lo: 500, hi: 500.5, cells: 60 },
        noise: { median: 20, lo: 19.9, hi: 20.1, cells: 60 },
        gainElectronsPerAdu: 0.8,
        gainIs: "given",
        moffatBeta: 3.2,
        starsLearnedFrom: 120,
        warnings: [],
        stars: table,
      },
    ],
  };
}

const settings = { cfa: null, gainElectronsPerAdu: 0.8, readNoiseElectrons: null, saturationAdu: null };

function makeTest(stars: number): TestMeasurement {
  return { format: MEASUREMENT_FORMAT, code: "00ff", settings, frames: [makeFrame(stars)], crops: [] };
}

describe("measured.json", () => {
  it("comes back as it was, to well below a star's own uncertainty", () => {
    const before = makeTest(40);
    const after = decodeMeasurement(encodeMeasurement(before));
    const [old, fresh] = [before.frames[0].channels[0].stars, after?.frames[0].channels[0].stars];
    if (fresh === undefined) throw new Error("not read");
    for (let row = 0; row < 40; row++) {
      if (row === 1) continue;
      expect(Math.abs(fresh.xPx[row] - old.xPx[row])).toBeLessThanOrEqual(0.0005001);
      expect(Math.abs(fresh.fwhmMajorPx[row] - old.fwhmMajorPx[row])).toBeLessThan(2e-4);
      expect(Math.abs(fresh.e1[row] - old.e1[row])).toBeLessThanOrEqual(5.001e-6);
      expect(Math.abs(fresh.angleDeg[row] - old.angleDeg[row])).toBeLessThan(1);
    }
    expect(fresh.fwhmMajorPx[1]).toBeNaN();
    expect(fresh.flags[1]).toBe(STAR_FLAGS.failed);
    expect(after?.frames[0].header).toEqual(before.frames[0].header);
  });

  it("is the same bytes when written again from what was read", () => {
    const text = encodeMeasurement(makeTest(60));
    const read = decodeMeasurement(text);
    expect(read === null ? "" : encodeMeasurement(read)).toBe(text);
  });

  it("has one column of stars to a line and takes below 120 bytes a star", () => {
    const text = encodeFrame(makeFrame(2000));
    expect(text.split("\n").filter((line) => line.includes('"xPx": ['))).toHaveLength(1);
    expect(text.length / 2000).toBeLessThan(120);
  });

  it("is refused when cut short, edited out of shape, of another format or hostile", () => {
    const text = encodeMeasurement(makeTest(20));
    expect(decodeMeasurement(text.slice(0, -40))).toBeNull();
    expect(decodeMeasurement(text.replace("measured/1", "measured/9"))).toBeNull();
    expect(decodeMeasurement(text.replace('"flags": [0,', '"flags": [0,0,'))).toBeNull();
    expect(decodeMeasurement(text.replace('"widthPx": 6248', '"widthPx": "<script>"'))).toBeNull();
    expect(decodeMeasurement("")).toBeNull();
    expect(decodeMeasurement("[]")).toBeNull();
    expect(decodeFrame('{"__proto__": {"file": 1}}')).toBeNull();
  });
});
