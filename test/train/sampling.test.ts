import { describe, expect, it } from "vitest";
import { makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";
import { computeSampling } from "../../lib/train/sampling.ts";
import { makeTrain } from "./make-train.ts";

describe("computeSampling", () => {
  const sampling = computeSampling(makeTrain());

  it("works with the focal length as used: 0.79 x 805 mm = 635.95 mm, f/5.53", () => {
    expect(sampling.focalLength).toMatchObject({
      value: 635.95,
      lo: 635.95,
      hi: 635.95,
      unit: "mm",
      working: "0.79 * (805 mm)",
    });
    expect(sampling.focalRatio.value).toBeCloseTo(5.53, 10);
  });

  it("gives every number a unit, a formula, the numbers put in and a source, but for the night that was not measured", () => {
    for (const [name, quantity] of Object.entries(sampling)) {
      if (name === "pixelsPerSeeing") continue;
      expect(quantity, name).toMatchObject({
        formula: expect.stringMatching(/./),
        working: expect.stringMatching(/\d/),
        source: expect.stringMatching(/./),
      });
    }
    expect(sampling.pixelsPerSeeing).toEqual({
      value: null,
      unit: "px",
      why: expect.stringMatching(/measured/),
    });
  });

  it("has the units of the results format", () => {
    const units = Object.fromEntries(Object.entries(sampling).map(([name, { unit }]) => [name, unit]));
    expect(units).toEqual({
      focalLength: "mm",
      focalRatio: "ratio",
      imageScale: "arcsec/px",
      fieldWidth: "deg",
      fieldHeight: "deg",
      fieldDiagonal: "deg",
      airyDiameter: "um",
      dawesLimit: "arcsec",
      rayleighLimit: "arcsec",
      depthOfFocus: "um",
      pixelsPerSeeing: "px",
      lightGrasp: "ratio",
    });
  });

  it("keeps diagonal, width and height of the field together: tan^2 adds up", () => {
    const halfTangent = (degrees: number | null) => Math.tan(((degrees ?? Number.NaN) * Math.PI) / 360);
    const { fieldWidth, fieldHeight, fieldDiagonal } = sampling;
    expect(halfTangent(fieldWidth.value) ** 2 + halfTangent(fieldHeight.value) ** 2).toBeCloseTo(
      halfTangent(fieldDiagonal.value) ** 2,
      12,
    );
  });

  it("gives 1 / 0.79^2 = 1.6023 times the light for each pixel, and 1 without corrector", () => {
    expect(sampling.lightGrasp.value).toBeCloseTo(1 / 0.79 ** 2, 10);
    expect(computeSampling(makeTrain({ corrector: null })).lightGrasp.value).toBe(1);
  });

  it("takes the filter's wavelength for diffraction, not for the Dawes limit: at 656.3 nm the Airy disc grows by 19.3 %", () => {
    const red = computeSampling(makeTrain(), {}, 656.3);
    expect(red.airyDiameter.value! / sampling.airyDiameter.value!).toBeCloseTo(656.3 / 550, 10);
    expect(red.dawesLimit).toEqual(sampling.dawesLimit);
  });

  it("puts a measured focal length with its interval in place of the record's, through to scale and field", () => {
    const focalLengthMm = makeMeasured(640, "mm", 638, 642, 40);
    const measured = computeSampling(makeTrain(), { focalLengthMm });
    expect(measured.focalLength).toEqual(focalLengthMm);
    expect(measured.imageScale).toMatchObject({
      value: expect.closeTo((206.264806 * 3.76) / 640, 9),
      lo: expect.closeTo((206.264806 * 3.76) / 642, 9),
      hi: expect.closeTo((206.264806 * 3.76) / 638, 9),
      n: 40,
    });
    expect(computeSampling(makeTrain(), { focalLengthMm: makeUnknown("mm", "not solved") })).toEqual(
      sampling,
    );
  });

  it("gives the night's own width in pixels, the median of several nights, and the reason where none could be measured", () => {
    const nights = [2.4, 3.1, 2.6].map((value) => makeMeasured(value, "px", value - 0.1, value + 0.1, 50));
    expect(computeSampling(makeTrain(), { fwhmCentrePx: nights[0] }).pixelsPerSeeing).toMatchObject({
      value: 2.4,
      lo: expect.closeTo(2.3, 12),
      n: 50,
    });
    expect(computeSampling(makeTrain(), { fwhmCentrePx: nights }).pixelsPerSeeing).toMatchObject({
      value: 2.6,
      hi: expect.closeTo(2.7, 12),
      n: 150,
    });
    const blind = makeUnknown("px", "No star in the centre was fit to measure.");
    expect(computeSampling(makeTrain(), { fwhmCentrePx: [blind] }).pixelsPerSeeing).toEqual(blind);
    expect(computeSampling(makeTrain(), { fwhmCentrePx: [blind, nights[1]] }).pixelsPerSeeing.value).toBe(
      3.1,
    );
    expect(computeSampling(makeTrain(), { fwhmCentrePx: [] }).pixelsPerSeeing.value).toBeNull();
  });

  it("scales as it must: doubling the pixel doubles the scale and halves nothing else of the optics", () => {
    const train = makeTrain();
    const coarse = computeSampling({ ...train, camera: { ...train.camera, pixelPitchUm: 7.52 } });
    expect(coarse.imageScale.value).toBeCloseTo(2 * sampling.imageScale.value!, 10);
    expect(coarse.airyDiameter).toEqual(sampling.airyDiameter);
    expect(coarse.depthOfFocus).toEqual(sampling.depthOfFocus);
  });

  it("says that the Airy value is for a clear aperture where the telescope has an obstruction", () => {
    const telescope = { ...makeTrain().telescope, obstructionMm: 40 };
    expect(computeSampling(makeTrain({ telescope })).airyDiameter).toMatchObject({
      value: sampling.airyDiameter.value,
      assumes: expect.stringMatching(/obstruction/),
    });
  });
});
