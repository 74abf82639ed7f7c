import type { Band, FieldAberrations } from "../../demo/simulator/conditions.ts";
import { measureDispersion } from "../../demo/simulator/dispersion.ts";
import { drawFrame } from "../../demo/simulator/draw-frame.ts";
import { flatField, plainCamera, plainExposure, plainOptics } from "../../demo/simulator/presets.ts";
import { emptyScene } from "../../demo/simulator/scene.ts";
import type { LeanMeasurement } from "../../lib/colour/colour-measurement.ts";
import { type ChannelLean, listShiftStars } from "../../lib/colour/list-shift-stars.ts";
import { measureLean } from "../../lib/colour/measure-lean.ts";
import { measureShift } from "../../lib/colour/measure-shift.ts";
import type { PixelChannel } from "../../lib/colour/pixel-channel.ts";
import { makeFullGeometry } from "../../lib/field/geometry.ts";
import { makeSitePlanes } from "../../lib/frames/cfa.ts";
import { measurePlane } from "../../lib/stars/measure-plane.ts";
import type { LearnedShape } from "../../lib/stars/plane-measurement.ts";
import type { SamplePlane } from "../../lib/stars/samples.ts";
import { runInline } from "../../lib/stars/star-task.ts";
import { makeNormal, makeUniform } from "../stars/draw-stars.ts";

const [widthPx, heightPx, focalMm] = [1800, 1200, 293];
export const pitchUm = 3.76;
const geometry = makeFullGeometry(widthPx, heightPx, pitchUm);
export const units = {
  widthMm: geometry.sensorWidthMm,
  heightMm: geometry.sensorHeightMm,
  halfDiagonalMm: Math.hypot(geometry.sensorWidthMm, geometry.sensorHeightMm) / 2,
};

export interface WantedFrame {
  seed: number;
  lateralPpm: { R: number; B: number };
  focusShiftUm: { R: number; B: number };
  zenithDistanceDeg: number | null;
  field?: Partial<FieldAberrations>;
}

const wavelengthsNm = { R: 615, G: 535, B: 465 };

/** Some 500 stars of many colours over the frame, 9.5 to 13 mag. */
function strewStars(seed: number) {
  const uniform = makeUniform(seed);
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
  return {
    xiArcsec: Float64Array.from(columns.xi),
    etaArcsec: Float64Array.from(columns.eta),
    magnitude: Float64Array.from(columns.magnitude),
    colourIndex: Float64Array.from(columns.colour),
  };
}

function setUp(wanted: WantedFrame) {
  const { lateralPpm: lateral, focusShiftUm: focus, zenithDistanceDeg, field, seed } = wanted;
  const make = (channel: "R" | "G" | "B", focusShiftUm: number, lateralPpm: number): Band => ({
    channel,
    wavelengthsNm: [wavelengthsNm[channel]],
    shares: [1],
    widthNm: 95,
    focusShiftUm,
    lateralPpm,
  });
  return {
    scene: { ...emptyScene, stars: strewStars(seed) },
    optics: { ...plainOptics, apertureMm: 61, focalLengthMm: focalMm, field: { ...flatField, ...field } },
    exposure: {
      ...plainExposure,
      bands: [make("R", focus.R, lateral.R), make("G", 0, 0), make("B", focus.B, lateral.B)],
      seeingArcsec: 2.9,
      tracking: { jitter: { majorRmsArcsec: 0.8, minorRmsArcsec: 0.6, angleDeg: 20 } },
      dispersion: zenithDistanceDeg === null ? null : { zenithDistanceDeg, zenithAngleDeg: 78 },
    },
  };
}

async function measureChannel(
  plane: SamplePlane,
  channel: string,
  sibling: LearnedShape | null = null,
): Promise<PixelChannel & { learned: LearnedShape }> {
  const noise = { gainElectronsPerAdu: 0.8, readNoiseElectrons: 1.6, saturationAdu: 65_535 };
  const { stars, profile, ...measured } = await measurePlane(plane, channel, noise, runInline, sibling);
  const levels = Float32Array.from(measured.noise.values).sort();
  return {
    channel,
    plane,
    stars,
    noiseAdu: levels[levels.length >> 1],
    gainElectronsPerAdu: 0.8,
    moffatBeta: profile.moffatBeta,
    learned: measured.learned,
  };
}

const pickLean = (lean: LeanMeasurement | null, channel: string): ChannelLean | null =>
  lean === null ? null : { xPx: lean.xPx, yPx: lean.yPx, ...lean.channels[channel] };

interface Told {
  own: PixelChannel;
  lean: ChannelLean | null;
}

/** Shift of one colour against green, from the light's places or from the fitted ones, with what the simulator was told. */
function compare(wanted: WantedFrame, of: "R" | "B", told: Record<string, Told>, ownPointing: boolean) {
  const pair = {
    of: told[of].own.stars,
    against: told.G.own.stars,
    ...(ownPointing ? {} : { colour: { blue: told.B.own.stars, red: told.R.own.stars } }),
  };
  const [own, other] = [told[of].lean, told.G.lean];
  const lean = own === null || other === null ? {} : { lean: { of: own, against: other } };
  const { dispersion } = setUp(wanted).exposure;
  const [mine, green] = [of, "G" as const].map((name) => measureDispersion(dispersion, wavelengthsNm[name]));
  const umPerArcsec = focalMm / 206.264806;
  return {
    measure: measureShift(listShiftStars([{ ...pair, ...lean }], geometry), units, ownPointing)!,
    fitted: measureShift(listShiftStars([pair], geometry), units, ownPointing)!,
    truth: {
      lateral: (wanted.lateralPpm[of] * units.halfDiagonalMm) / 1000,
      x: (mine.x - green.x) * umPerArcsec,
      y: (mine.y - green.y) * umPerArcsec,
    },
  };
}

/** A frame of some 500 stars by the demo's simulator, through a filter array, every colour measured on its own pixels. */
export async function drawAndMeasure(wanted: WantedFrame) {
  const { scene, optics, exposure } = setUp(wanted);
  const camera = { ...plainCamera, widthPx, heightPx, pixelPitchUm: pitchUm, cfa: "RGGB" as const };
  const frame = drawFrame(scene, optics, camera, exposure, wanted.seed, { truth: false });
  const planes = makeSitePlanes(frame.samples, "RGGB").map(({ channel, samples, sites }) => ({
    channel,
    plane: { widthPx, heightPx, samples, sites },
  }));
  // As measureFrame does: red and blue begin from what green has learned.
  const green = await measureChannel(planes.find(({ channel }) => channel === "G")!.plane, "G");
  const channels = await Promise.all(
    planes.map(({ channel, plane }) =>
      channel === "G" ? green : measureChannel(plane, channel, green.learned),
    ),
  );
  const lean = measureLean(channels, "G");
  const told = Object.fromEntries(
    channels.map((own): [string, Told] => [own.channel, { own, lean: pickLean(lean, own.channel) }]),
  );
  return { channels, lean, measures: (["R", "B"] as const).map((of) => compare(wanted, of, told, false)) };
}

/** The same sky through three filters, a frame each, on a camera without a filter array. */
export async function drawAndMeasureFilters(wanted: WantedFrame) {
  const { scene, optics, exposure } = setUp(wanted);
  const camera = { ...plainCamera, widthPx, heightPx, pixelPitchUm: pitchUm };
  const told: Record<string, Told> = {};
  for (const [k, band] of exposure.bands.entries()) {
    const shot = { ...exposure, bands: [band], ditherPx: { x: 3.3 * k, y: -2.1 * k } };
    const { samples } = drawFrame(scene, optics, camera, shot, wanted.seed + 10 * k, { truth: false });
    const own = await measureChannel(
      { widthPx, heightPx, samples, sites: [true, true, true, true] },
      band.channel,
    );
    told[band.channel] = { own, lean: pickLean(measureLean([own], band.channel), band.channel) };
  }
  return { measures: (["R", "B"] as const).map((of) => compare(wanted, of, told, true)) };
}
