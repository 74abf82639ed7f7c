import { describe, expect, it } from "vitest";
import type { Band } from "../../demo/simulator/conditions.ts";
import { measureDispersion } from "../../demo/simulator/dispersion.ts";
import { drawFrame } from "../../demo/simulator/draw-frame.ts";
import { plainCamera, plainExposure, plainOptics } from "../../demo/simulator/presets.ts";
import { emptyScene } from "../../demo/simulator/scene.ts";
import { compareHalos } from "../../lib/colour/compare-halos.ts";
import { listShiftStars } from "../../lib/colour/list-shift-stars.ts";
import { measureHalo } from "../../lib/colour/measure-halo.ts";
import { computeHalfWidth, type Estimate, measureShift } from "../../lib/colour/measure-shift.ts";
import { makeFullGeometry } from "../../lib/field/geometry.ts";
import { makeSitePlanes } from "../../lib/frames/cfa.ts";
import { measurePlane } from "../../lib/stars/measure-plane.ts";
import type { StarTable } from "../../lib/stars/star-table.ts";
import { runInline } from "../../lib/stars/star-task.ts";
import { makeNormal, makeUniform } from "../stars/draw-stars.ts";

const [widthPx, heightPx, pitchUm, focalMm] = [1800, 1200, 3.76, 293];
const geometry = makeFullGeometry(widthPx, heightPx, pitchUm);
const units = {
  widthMm: geometry.sensorWidthMm,
  heightMm: geometry.sensorHeightMm,
  halfDiagonalMm: Math.hypot(geometry.sensorWidthMm, geometry.sensorHeightMm) / 2,
};

interface Wanted {
  seed: number;
  lateralPpm: { R: number; B: number };
  focusShiftUm: { R: number; B: number };
  zenithDistanceDeg: number | null;
}

const wavelengthsNm = { R: 615, G: 535, B: 465 };

/** A frame of some 500 stars by the demo's simulator, through a filter array, every colour measured on its own pixels. */
async function drawAndMeasure(wanted: Wanted) {
  const uniform = makeUniform(wanted.seed);
  const normal = makeNormal(uniform);
  const columns = {
    xi: [] as number[],
    eta: [] as number[],
    magnitude: [] as number[],
    colour: [] as number[],
  };
  const scale = ((pitchUm / focalMm) * 206.264806) / 2;
  for (let k = 0; k < 640; k++) {
    columns.xi.push((2 * uniform() - 1) * widthPx * scale);
    columns.eta.push((2 * uniform() - 1) * heightPx * scale);
    columns.magnitude.push(9.5 + 3.5 * Math.sqrt(uniform()));
    columns.colour.push(0.75 + 0.35 * normal());
  }
  const stars = {
    xiArcsec: Float64Array.from(columns.xi),
    etaArcsec: Float64Array.from(columns.eta),
    magnitude: Float64Array.from(columns.magnitude),
    colourIndex: Float64Array.from(columns.colour),
  };
  const make = (channel: "R" | "G" | "B", focusShiftUm: number, lateralPpm: number): Band => ({
    channel,
    wavelengthsNm: [wavelengthsNm[channel]],
    shares: [1],
    widthNm: 95,
    focusShiftUm,
    lateralPpm,
  });
  const zenithAngleDeg = 78;
  const { lateralPpm: lateral, focusShiftUm: focus, zenithDistanceDeg } = wanted;
  const exposure = {
    ...plainExposure,
    bands: [make("R", focus.R, lateral.R), make("G", 0, 0), make("B", focus.B, lateral.B)],
    seeingArcsec: 2.9,
    tracking: { jitter: { majorRmsArcsec: 0.8, minorRmsArcsec: 0.6, angleDeg: 20 } },
    dispersion: zenithDistanceDeg === null ? null : { zenithDistanceDeg, zenithAngleDeg },
  };
  const frame = drawFrame(
    { ...emptyScene, stars },
    { ...plainOptics, apertureMm: 61, focalLengthMm: focalMm },
    { ...plainCamera, widthPx, heightPx, pixelPitchUm: pitchUm, cfa: "RGGB" },
    exposure,
    wanted.seed,
    { truth: false },
  );
  const tables: Record<string, StarTable> = {};
  const planes = makeSitePlanes(frame.samples, "RGGB").map(({ channel, samples, sites }) => ({
    channel,
    plane: { widthPx, heightPx, samples, sites },
  }));
  for (const { channel, plane } of planes) {
    const noise = { gainElectronsPerAdu: 0.8, readNoiseElectrons: 1.6, saturationAdu: 65_535 };
    tables[channel] = (await measurePlane(plane, channel, noise, runInline)).stars;
  }
  const measures = (["R", "B"] as const).map((of) => {
    const colour = { blue: tables.B, red: tables.R };
    const pair = { of: tables[of], against: tables.G, colour };
    const measure = measureShift(listShiftStars([pair], geometry), units, false)!;
    const umPerArcsec = focalMm / 206.264806;
    const [own, other] = [of, "G" as const].map((name) =>
      measureDispersion(exposure.dispersion, wavelengthsNm[name]),
    );
    return {
      measure,
      truth: {
        lateral: (lateral[of] * units.halfDiagonalMm) / 1000,
        x: (own.x - other.x) * umPerArcsec,
        y: (own.y - other.y) * umPerArcsec,
      },
    };
  });
  const halo = measureHalo(
    planes.map(({ channel, plane }) => ({ channel, plane, stars: tables[channel] })),
    "G",
  );
  return { measures, halo };
}

const holds = ({ value, ...rest }: Estimate, truth: number, widen = 1): boolean =>
  Math.abs(value - truth) <= widen * computeHalfWidth({ value, ...rest });

describe("frames drawn by physical optics, seeds of their own", () => {
  it("no lateral colour under 1 arcsec of dispersion: zero within the interval, the shift to 0.05 um", async () => {
    // Red against blue at 61 degrees from the zenith: 1.2 arcsec, 1.7 um.
    const { measures } = await drawAndMeasure({
      seed: 90_211,
      lateralPpm: { R: 0, B: 0 },
      focusShiftUm: { R: 0, B: 0 },
      zenithDistanceDeg: 61,
    });
    for (const { measure, truth } of measures) {
      expect(measure.stars).toBeGreaterThan(350);
      expect(holds(measure.lateral, 0)).toBe(true);
      expect(Math.abs(measure.lateral.value)).toBeLessThan(0.1);
      expect(Math.abs(measure.constant!.x.value - truth.x)).toBeLessThan(0.05);
      expect(Math.abs(measure.constant!.y.value - truth.y)).toBeLessThan(0.05);
      expect(holds(measure.constant!.x, truth.x, 1.5)).toBe(true);
      expect(holds(measure.constant!.y, truth.y, 1.5)).toBe(true);
    }
  });

  it("lateral colour of 260 and -340 ppm with colours out of focus by 9 and 17 um comes out within 0.1 um at the corner", async () => {
    const { measures, halo } = await drawAndMeasure({
      seed: 90_377,
      lateralPpm: { R: 260, B: -340 },
      focusShiftUm: { R: 9, B: 17 },
      zenithDistanceDeg: null,
    });
    for (const { measure, truth } of measures) {
      expect(Math.abs(measure.lateral.value - truth.lateral)).toBeLessThan(0.1);
      expect(holds(measure.lateral, truth.lateral, 1.5)).toBe(true);
      expect(Math.hypot(measure.constant!.x.value, measure.constant!.y.value)).toBeLessThan(0.05);
    }
    // Blur by 17 um at f/4.8 is a disc of 3.5 um: light moves out of the core, and the halo of blue is not below green's.
    const compared = compareHalos(halo === null ? [] : [halo], "G", pitchUm)!;
    const share = compared.channels.G.share;
    expect(share.value).toBeGreaterThan(1);
    expect(share.value).toBeLessThan(6);
    const blue = compared.channels.B.overReference;
    expect(blue.value).toBeGreaterThan(0.85);
    expect(blue.value).toBeLessThan(1.4);
  });
});
