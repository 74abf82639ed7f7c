import { describe, expect, it } from "vitest";
import type { Exposure, FieldAberrations, Optics, SimulatedCamera } from "../../demo/simulator/conditions.ts";
import { type DrawnFrame, drawFrame } from "../../demo/simulator/draw-frame.ts";
import {
  colourBands,
  flatField,
  placeIsolatedStars,
  plainCamera,
  plainExposure,
  plainOptics,
} from "../../demo/simulator/presets.ts";
import type { Scene } from "../../demo/simulator/scene.ts";
import { makeRandom } from "../../lib/maths/random.ts";
import { fitHuber } from "../../lib/maths/robust-fit.ts";
import { estimateMadSigma, median } from "../../lib/maths/statistics.ts";
import { measurePlane } from "../../lib/stars/measure-plane.ts";
import type { CameraNoise } from "../../lib/stars/samples.ts";
import { STAR_FLAGS, type StarTable, UNUSABLE } from "../../lib/stars/star-table.ts";
import { runInline } from "../../lib/stars/star-task.ts";

const everySite = [true, true, true, true] as const;
const known: CameraNoise = {
  gainElectronsPerAdu: plainCamera.gainElectronsPerAdu,
  readNoiseElectrons: plainCamera.readNoiseElectrons,
  saturationAdu: null,
};
const camera: SimulatedCamera = { ...plainCamera, widthPx: 1500, heightPx: 1100 };

function drawTest(wanted: {
  seed: number;
  scene?: Scene;
  field?: Partial<FieldAberrations>;
  optics?: Partial<Optics>;
  exposure?: Partial<Exposure>;
  camera?: Partial<SimulatedCamera>;
  count?: number;
}): DrawnFrame {
  const size = { ...camera, ...wanted.camera };
  const stars = placeIsolatedStars({
    widthPx: size.widthPx,
    heightPx: size.heightPx,
    count: wanted.count ?? 400,
    leastDistancePx: 40,
    faintestElectrons: 5000,
    brightestElectrons: 200_000,
    seed: wanted.seed,
  });
  return drawFrame(
    { ...stars, ...wanted.scene },
    { ...plainOptics, ...wanted.optics, field: { ...flatField, ...wanted.field } },
    size,
    { ...plainExposure, ...wanted.exposure },
    wanted.seed,
  );
}

const measure = (frame: DrawnFrame, noise = known) =>
  measurePlane({ ...frame, sites: everySite }, "L", noise, runInline);

/** Usable stars of the table beside the truth's nearest star within 3 px. */
function pairWithTruth(table: StarTable, truth: DrawnFrame["truth"]) {
  const pairs: { row: number; star: number }[] = [];
  let unmatched = 0;
  for (let row = 0; row < table.flags.length; row++) {
    if ((table.flags[row] & UNUSABLE) !== 0) continue;
    let nearest = -1;
    let least = 3;
    for (let star = 0; star < truth.xPx.length; star++) {
      const distance = Math.hypot(truth.xPx[star] - table.xPx[row], truth.yPx[star] - table.yPx[row]);
      if (distance < least) {
        least = distance;
        nearest = star;
      }
    }
    if (nearest < 0) unmatched++;
    else pairs.push({ row, star: nearest });
  }
  const ratio = (measured: Float64Array, real: ArrayLike<number>) =>
    pairs.map(({ row, star }) => measured[row] / real[star]);
  return {
    count: pairs.length,
    unmatched,
    pairs,
    major: ratio(table.fwhmMajorPx, truth.fwhmMajorPx),
    minor: ratio(table.fwhmMinorPx, truth.fwhmMinorPx),
    fwhm: pairs.map(({ row, star }) =>
      Math.sqrt(
        (table.fwhmMajorPx[row] * table.fwhmMinorPx[row]) /
          (truth.fwhmMajorPx[star] * truth.fwhmMinorPx[star]),
      ),
    ),
    xPull: pairs.map(({ row, star }) => (table.xPx[row] - truth.xPx[star]) / table.xErrPx[row]),
    xOff: pairs.map(({ row, star }) => table.xPx[row] - truth.xPx[star]),
    ellipticity: pairs.map(
      ({ row, star }) =>
        table.fwhmMinorPx[row] / table.fwhmMajorPx[row] - truth.fwhmMinorPx[star] / truth.fwhmMajorPx[star],
    ),
  };
}

const rms = (values: number[]) =>
  Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);

describe("measurePlane(plane, channel, noise, run) on frames drawn by physical optics", () => {
  const sharp = { apertureMm: 115, focalLengthMm: 805 };
  const cases: { name: string; set: Parameters<typeof drawTest>[0]; within?: number; scatter?: number }[] = [
    { name: "2.5 arcsec seeing at f/7, stars of 2.6 px", set: { seed: 11, optics: sharp } },
    {
      name: "4 arcsec seeing at f/7, stars of 4.2 px",
      set: { seed: 12, exposure: { seeingArcsec: 4 } },
    },
    {
      name: "2.35 arcsec seeing at f/4.8, 5.4 um pixels, stars of 1.3 px",
      // The pixels hide the core: of profiles that look alike through them, the one nearest to a Moffat's is taken.
      within: 0.03,
      scatter: 0.02,
      set: {
        seed: 13,
        optics: { apertureMm: 115, focalLengthMm: 552 },
        camera: { pixelPitchUm: 5.4 },
        exposure: { seeingArcsec: 2.35 },
      },
    },
    {
      name: "stars 45 um out of focus",
      set: { seed: 14, field: { defocusUm: 45 }, exposure: { seeingArcsec: 2 } },
    },
    {
      name: "an obstructed f/6 pupil (45 %) 30 um out of focus",
      set: { seed: 15, optics: { focalLengthMm: 690, obstructionMm: 52 }, field: { defocusUm: 30 } },
    },
  ];
  for (const { name, set, within = 0.015, scatter = 0.01 } of cases) {
    it(`gives the true half-maximum width within ${within * 100} %, scatter below ${scatter * 100} %: ${name}`, async () => {
      const frame = drawTest(set);
      const { stars } = await measure(frame);
      const paired = pairWithTruth(stars, frame.truth);
      expect(paired.count).toBeGreaterThan(0.9 * frame.truth.xPx.length);
      expect(Math.abs(median(paired.fwhm) - 1)).toBeLessThan(within);
      expect(estimateMadSigma(paired.fwhm)).toBeLessThan(scatter);
      // The stated position error is the scatter found, within 15 %.
      expect(rms(paired.xPull)).toBeGreaterThan(0.85);
      expect(rms(paired.xPull)).toBeLessThan(1.15);
    });
  }

  it("follows tilt, curvature and astigmatism over the field: widths within 2 %, ellipticity within 0.03; seed 21", async () => {
    const frame = drawTest({
      seed: 21,
      optics: { focalLengthMm: 636 },
      field: { defocusUm: -10, tiltX: 4, tiltY: -2, curvature: 3, astigmatism: 2 },
    });
    const { stars } = await measure(frame);
    const paired = pairWithTruth(stars, frame.truth);
    expect(Math.abs(median(paired.major) - 1)).toBeLessThan(0.02);
    expect(Math.abs(median(paired.minor) - 1)).toBeLessThan(0.02);
    const corner = paired.pairs.flatMap(({ star }, i) =>
      Math.hypot(frame.truth.xPx[star] - 750, frame.truth.yPx[star] - 550) > 740 ? [i] : [],
    );
    expect(corner.length).toBeGreaterThan(8);
    expect(Math.abs(median(corner.map((i) => paired.fwhm[i])) - 1)).toBeLessThan(0.02);
    expect(Math.abs(median(corner.map((i) => paired.ellipticity[i])))).toBeLessThan(0.03);
  });

  it("puts no tilt and no curvature into a field that has none: widths change by less than 0.35 % rms over it; seeds 41 to 43", async () => {
    // Held apart from the stars' scatter: the polynomial of second order through measured over true widths. A profile that
    // is free to change over the frame by a set amount gave 0.5 to 1.1 %.
    for (const [seed, seeingArcsec] of [
      [41, 2.5],
      [42, 3.2],
      [43, 3.8],
    ]) {
      const frame = drawTest({ seed, exposure: { seeingArcsec } });
      const { stars } = await measure(frame);
      const { pairs, fwhm } = pairWithTruth(stars, frame.truth);
      const rows = pairs.flatMap(({ row }, i) => (stars.snr[row] > 20 ? [{ row, ratio: fwhm[i] }] : []));
      const design = Float64Array.from(
        rows.flatMap(({ row }) => {
          const [u, v] = [stars.xPx[row] / 750 - 1, stars.yPx[row] / 550 - 1];
          return [1, u, v, u * u - 1 / 3, v * v - 1 / 3, u * v];
        }),
      );
      const fit = fitHuber(
        design,
        rows.map(({ ratio }) => ratio),
        6,
      )!;
      const [, u, v, uu, vv, uv] = fit.coefficients;
      // Mean squares over the frame of what the terms multiply.
      const smooth = Math.sqrt((u * u + v * v) / 3 + ((uu * uu + vv * vv) * 4) / 45 + (uv * uv) / 9);
      expect(smooth).toBeLessThan(0.0035);
    }
  });

  it("gives the half-maximum contour's ellipticity, not that of rounder wings: 0.035 of a trailed night within 12 %; seed 31", async () => {
    const frame = drawTest({
      seed: 31,
      optics: { focalLengthMm: 636 },
      exposure: {
        seeingArcsec: 2.4,
        tracking: { jitter: { majorRmsArcsec: 0.5, minorRmsArcsec: 0.37, angleDeg: 30 } },
      },
    });
    const { stars } = await measure(frame);
    const { pairs } = pairWithTruth(stars, frame.truth);
    const chi = (row: ArrayLike<number>, column: ArrayLike<number>, i: number) =>
      (row[i] ** 2 - column[i] ** 2) / (row[i] ** 2 + column[i] ** 2);
    const true0 = median(
      pairs.map(({ star }) => chi(frame.truth.fwhmMajorPx, frame.truth.fwhmMinorPx, star)),
    );
    const e1 = median(pairs.map(({ row }) => stars.e1[row]));
    const e2 = median(pairs.map(({ row }) => stars.e2[row]));
    expect(true0).toBeGreaterThan(0.02);
    expect(Math.hypot(e1, e2) / true0).toBeGreaterThan(0.88);
    expect(Math.hypot(e1, e2) / true0).toBeLessThan(1.12);
    expect(Math.abs((Math.atan2(e2, e1) * 90) / Math.PI - 30)).toBeLessThan(4);
  });

  it("measures twelve stars as it measures four hundred: width within 2 %; seed 22", async () => {
    const frame = drawTest({ seed: 22, count: 12 });
    const paired = pairWithTruth((await measure(frame)).stars, frame.truth);
    expect(paired.count).toBeGreaterThanOrEqual(11);
    expect(Math.abs(median(paired.fwhm) - 1)).toBeLessThan(0.02);
  });

  it("is not misled by a nebula, a gradient, vignetting, amplifier glow and a satellite; seed 23", async () => {
    const frame = drawTest({
      seed: 23,
      scene: {
        ...placeIsolatedStars({
          widthPx: camera.widthPx,
          heightPx: camera.heightPx,
          count: 400,
          leastDistancePx: 40,
          faintestElectrons: 5000,
          brightestElectrons: 200_000,
          seed: 23,
        }),
        nebulae: [
          {
            xiArcsec: 60,
            etaArcsec: -40,
            sigmaMajorArcsec: 250,
            sigmaMinorArcsec: 90,
            angleDeg: 35,
            magnitude: 19.5,
          },
        ],
        trails: [{ xPx: 300, yPx: 200, angleDeg: -31, electronsPerPx: 600, sigmaPx: 1.2 }],
        cosmicRays: 60,
      },
      camera: { hotPixelShare: 3e-4, ampGlowElectronsPerS: 3 },
      exposure: { skyGradient: { share: 0.4, angleDeg: 70 } },
      optics: { rings: [{ clearDiameterMm: 8, fromSensorMm: 20 }] },
    });
    const paired = pairWithTruth((await measure(frame)).stars, frame.truth);
    expect(paired.count).toBeGreaterThan(0.85 * frame.truth.xPx.length);
    expect(Math.abs(median(paired.fwhm) - 1)).toBeLessThan(0.015);
    expect(paired.unmatched).toBeLessThan(0.01 * paired.count);
  });

  it("takes below 0.5 % of a frame full of hot pixels and cosmic rays for stars; seed 24", async () => {
    const frame = drawTest({
      seed: 24,
      scene: {
        ...placeIsolatedStars({
          widthPx: camera.widthPx,
          heightPx: camera.heightPx,
          count: 500,
          leastDistancePx: 34,
          faintestElectrons: 5000,
          brightestElectrons: 200_000,
          seed: 24,
        }),
        cosmicRays: 400,
      },
      camera: { hotPixelShare: 1e-3 },
    });
    const { stars } = await measure(frame);
    const paired = pairWithTruth(stars, frame.truth);
    expect(paired.unmatched).toBeLessThanOrEqual(0.005 * (paired.count + paired.unmatched));
    expect(paired.count).toBeGreaterThan(0.9 * frame.truth.xPx.length);
  });

  it("finds the gain within 25 % where it is not on record, and the same widths within 0.5 %; seed 25", async () => {
    const frame = drawTest({ seed: 25 });
    const given = await measure(frame);
    const blind = await measure(frame, {
      gainElectronsPerAdu: null,
      readNoiseElectrons: null,
      saturationAdu: null,
    });
    expect(blind.gainIs).toBe("estimated");
    expect(blind.gainElectronsPerAdu / plainCamera.gainElectronsPerAdu).toBeGreaterThan(0.75);
    expect(blind.gainElectronsPerAdu / plainCamera.gainElectronsPerAdu).toBeLessThan(1.25);
    const width = (table: StarTable) => median(Array.from(table.fwhmMajorPx).filter(Number.isFinite));
    expect(Math.abs(width(blind.stars) / width(given.stars) - 1)).toBeLessThan(0.005);
  });

  it("measures a colour-filter frame on each colour's own sites: width within 1.5 % in R, G and B; seed 26", async () => {
    const frame = drawTest({
      seed: 26,
      camera: { cfa: "RGGB" },
      exposure: { bands: colourBands, seeingArcsec: 3 },
    });
    const sites = {
      R: [true, false, false, false],
      G: [false, true, true, false],
      B: [false, false, false, true],
    } as const;
    for (const channel of ["R", "G", "B"] as const) {
      const { stars } = await measurePlane({ ...frame, sites: sites[channel] }, channel, known, runInline);
      const paired = pairWithTruth(stars, frame.channels[channel]);
      expect(paired.count, channel).toBeGreaterThan(0.7 * frame.truth.xPx.length);
      expect(Math.abs(median(paired.fwhm) - 1), channel).toBeLessThan(0.015);
      expect(Math.abs(median(paired.xOff)), channel).toBeLessThan(0.01);
    }
  });

  it("lets red and blue of 1.9 px lean on green: widths within 4 %, ellipticity 0.085 within 0.025 on every fourth site; seed 28", async () => {
    const frame = drawTest({
      seed: 28,
      camera: { cfa: "RGGB", widthPx: 2000, heightPx: 1400 },
      optics: { focalLengthMm: 360, apertureMm: 61 },
      exposure: {
        bands: colourBands,
        seeingArcsec: 2.9,
        tracking: { jitter: { majorRmsArcsec: 1, minorRmsArcsec: 0.7, angleDeg: 5 } },
      },
    });
    const green = await measurePlane({ ...frame, sites: [false, true, true, false] }, "G", known, runInline);
    const sites = { R: [true, false, false, false], B: [false, false, false, true] } as const;
    for (const channel of ["R", "B"] as const) {
      const plane = { ...frame, sites: sites[channel] };
      const { stars } = await measurePlane(plane, channel, known, runInline, green.learned);
      const paired = pairWithTruth(stars, frame.channels[channel]);
      expect(Math.abs(median(paired.fwhm) - 1), channel).toBeLessThan(0.04);
      const usable = Array.from(stars.e1).filter((_, row) => (stars.flags[row] & UNUSABLE) === 0);
      expect(Math.abs(median(usable) - 0.085), channel).toBeLessThan(0.025);
    }
  });

  it("gives the mirrored frame the mirrored stars: x and e2 turn over, widths stay within 0.5 % and 0.3 % on the median; seed 27", async () => {
    const frame = drawTest({
      seed: 27,
      field: { tiltX: 5, astigmatism: 3, curvature: 2 },
      count: 150,
      camera: { widthPx: 1536, heightPx: 1152 },
    });
    const { widthPx } = frame;
    const samples = frame.samples.map(
      (_, k) => frame.samples[Math.floor(k / widthPx) * widthPx + widthPx - 1 - (k % widthPx)],
    );
    const a = (await measure(frame)).stars;
    const b = (await measure({ ...frame, samples })).stars;
    const usable = (table: StarTable) =>
      Array.from(table.flags.keys()).filter((i) => (table.flags[i] & UNUSABLE) === 0);
    expect(usable(a).length).toBeGreaterThan(120);
    const differences: number[] = [];
    for (const i of usable(a)) {
      const j = usable(b).find((k) => Math.hypot(widthPx - 1 - a.xPx[i] - b.xPx[k], a.yPx[i] - b.yPx[k]) < 1);
      if (j === undefined) continue;
      // The noise map reads other pixels of each cell, and comes out 1 % different: other weights, another profile by a
      // part of its own uncertainty. All else is mirrored to the last digit.
      const difference = Math.abs(Math.log(b.fwhmMajorPx[j] / a.fwhmMajorPx[i]));
      expect(difference).toBeLessThan(0.005 + 0.2 * a.fwhmErr[i]);
      expect(Math.abs(b.e1[j] - a.e1[i])).toBeLessThan(0.005 + 0.2 * a.eErr[i]);
      expect(Math.abs(b.e2[j] + a.e2[i])).toBeLessThan(0.005 + 0.2 * a.eErr[i]);
      differences.push(difference);
    }
    expect(differences.length).toBeGreaterThan(0.97 * usable(a).length);
    expect(median(differences)).toBeLessThan(0.003);
  });

  it("keeps widths within 2 % in a crowded field of 2,000 stars on 1.65 megapixels; seed 28", async () => {
    const random = makeRandom(28);
    const draw = (scale: number) => Float64Array.from({ length: 2000 }, () => random() * scale);
    const frame = drawTest({
      seed: 28,
      scene: {
        stars: null,
        placed: {
          xPx: draw(camera.widthPx - 1),
          yPx: draw(camera.heightPx - 1),
          fluxElectrons: Float64Array.from({ length: 2000 }, () => 3000 * 60 ** random()),
        },
        nebulae: [],
        trails: [],
        cosmicRays: 0,
      },
    });
    const { stars } = await measure(frame);
    const paired = pairWithTruth(stars, frame.truth);
    expect(paired.count).toBeGreaterThan(600);
    expect(Math.abs(median(paired.fwhm) - 1)).toBeLessThan(0.02);
  });

  it("yields an empty table and no fault for a frame of bare sky; seed 29", async () => {
    const frame = drawTest({ seed: 29, count: 0 });
    const { stars, found } = await measure(frame);
    expect(found).toBeLessThan(3);
    expect(stars.flags.filter((flag) => (flag & (UNUSABLE & ~STAR_FLAGS.faint)) === 0).length).toBeLessThan(
      3,
    );
  });
});
