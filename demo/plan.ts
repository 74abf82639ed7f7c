import { type Night, nights } from "./nights.ts";
import type { Exposure, Optics, SimulatedCamera } from "./simulator/conditions.ts";
import type { FlatExposure } from "./simulator/draw-flat.ts";
import type { MoonExposure } from "./simulator/draw-moon.ts";
import type { DustShadow } from "./simulator/flat-light.ts";
import type { SkyField } from "./simulator/make-sky.ts";
import { clearBand } from "./simulator/presets.ts";
import { makeRandomSource } from "./simulator/random.ts";
import type { Nebula, Trail } from "./simulator/scene.ts";
import type { HeaderCard } from "./simulator/write-fits.ts";

/** All that is needed to draw one demo frame; plain data, so that a hash of it tells whether a frame is up to date. */
export interface FramePlan {
  /** Relative to the frames folder. */
  file: string;
  seed: number;
  sky: SkyField;
  nebulae: readonly Nebula[];
  trails: readonly Trail[];
  cosmicRays: number;
  optics: Optics;
  camera: SimulatedCamera;
  exposure: Exposure;
  header: readonly HeaderCard[];
  rowsTopDown: boolean;
  /** A flat or bias frame instead of stars. */
  flat?: FlatExposure;
  /** The Moon instead of stars. */
  moon?: MoonExposure;
}

/** Every frame of the demo: the lights of each night, then its sweep and flats, then the cameras' bias frames. */
export function planDemoFrames(): FramePlan[] {
  return [
    ...nights.flatMap((night) => [
      ...planLights(night),
      ...planSweep(night),
      ...planFlats(night),
      ...planMoon(night),
    ]),
    ...planBias(nights),
  ];
}

function planLights(night: Night): FramePlan[] {
  return night.frames.map(({ trails, ...frame }, k) => {
    const bands = night.camera.cfa === "none" ? [clearBand] : night.exposure.bands;
    const exposure: Exposure = { ...night.exposure, ...frame, bands };
    return {
      file: `${night.folder}/light-${k + 1}.fits`,
      seed: night.seed + k,
      sky: night.sky,
      nebulae: night.nebulae,
      trails: trails ?? [],
      cosmicRays: exposure.exposureS * 0.6,
      optics: night.optics,
      camera: night.camera,
      exposure,
      header: writeHeader(night, exposure, k),
      rowsTopDown: night.rowsTopDown,
    };
  });
}

/** Binned 2 x 2: a quarter of the pixels of twice the side; the lights' start and five minutes. */
function planSweep(night: Night): FramePlan[] {
  const { sweep } = night;
  if (sweep === undefined) return [];
  const camera: SimulatedCamera = {
    ...night.camera,
    widthPx: night.camera.widthPx / 2,
    heightPx: night.camera.heightPx / 2,
    pixelPitchUm: night.camera.pixelPitchUm * 2,
  };
  return sweep.frames.map(({ position, seeingArcsec, tracking }, k) => {
    const away = (position - sweep.lightsPosition) * sweep.umPerStep;
    const field = { ...night.optics.field, defocusUm: night.optics.field.defocusUm + away };
    const exposure: Exposure = {
      ...night.exposure,
      seeingArcsec,
      tracking,
      exposureS: sweep.exposureS,
      bands: [clearBand],
    };
    const header = writeHeader({ ...night, camera }, exposure, k + 10).map((card) =>
      card.keyword === "XBINNING" || card.keyword === "YBINNING" ? { ...card, value: 2 } : card,
    );
    return {
      file: `${night.folder}/sweep-${k + 1}.fits`,
      seed: night.seed + 50 + k,
      sky: night.sky,
      nebulae: [],
      trails: [],
      cosmicRays: sweep.exposureS * 0.6,
      optics: { ...night.optics, field },
      camera,
      exposure,
      header: [
        ...header,
        { keyword: "FOCUSPOS", value: position, comment: "steps of the focuser, outwards" },
      ],
      rowsTopDown: night.rowsTopDown,
    };
  });
}

function planFlat(
  night: Night,
  file: string,
  seed: number,
  kind: string,
  flat: FlatExposure,
  exposureS: number,
): FramePlan {
  const exposure: Exposure = { ...night.exposure, seeingArcsec: 0, tracking: {}, exposureS };
  const header = writeHeader(night, exposure, 0).map((card) =>
    card.keyword === "IMAGETYP" ? { ...card, value: kind } : card,
  );
  return {
    file,
    seed,
    sky: night.sky,
    nebulae: [],
    trails: [],
    cosmicRays: 0,
    optics: night.optics,
    camera: night.camera,
    exposure,
    header: header.filter(({ keyword }) => !["OBJECT", "OBJCTALT", "DATE-OBS"].includes(keyword)),
    rowsTopDown: night.rowsTopDown,
    flat,
  };
}

function planFlats(night: Night): FramePlan[] {
  const { flats } = night;
  if (flats === undefined) return [];
  const flat: FlatExposure = {
    levels: flats.levels,
    source: { gradient: flats.gradient, dust: drawDust(night) },
    prnu: pixelScatter,
  };
  return Array.from({ length: flats.count }, (_, k) =>
    planFlat(night, `${night.folder}/flat-${k + 1}.fits`, night.seed + 80 + k, "flat", flat, flats.exposureS),
  );
}

/** Scatter of the pixels' sensitivity, share. */
const pixelScatter = 0.006;

/** Specks before the sensor: nearer ones cast small and deep shadows (own choice of numbers). */
function drawDust(night: Night): DustShadow[] {
  const random = makeRandomSource(night.seed + 79);
  const { widthPx, heightPx, pixelPitchUm } = night.camera;
  return Array.from({ length: 14 }, () => ({
    xMm: ((random.drawUniform() - 0.5) * widthPx * pixelPitchUm) / 1000,
    yMm: ((random.drawUniform() - 0.5) * heightPx * pixelPitchUm) / 1000,
    radiusMm: 0.12 + 0.35 * random.drawUniform(),
    hole: 0,
    depth: 0.006 + 0.03 * random.drawUniform(),
  }));
}

const biasFrames = 4;

/** Bias frames of each camera that takes flats, once: they belong to the camera, not to the night. */
function planBias(all: readonly Night[]): FramePlan[] {
  const cameras = new Map<string, Night>();
  for (const night of all) {
    if (night.flats !== undefined && !cameras.has(night.instrument)) cameras.set(night.instrument, night);
  }
  const dark: FlatExposure = {
    levels: { L: 0 },
    source: { gradient: { share: 0, angleDeg: 0 }, dust: [] },
    prnu: 0,
  };
  return [...cameras].flatMap(([name, night]) =>
    Array.from({ length: biasFrames }, (_, k) =>
      planFlat(
        night,
        `${name.toLowerCase().replaceAll(" ", "-")}/bias-${k + 1}.fits`,
        night.seed + 90 + k,
        "bias",
        dark,
        0.001,
      ),
    ),
  );
}

function planMoon(night: Night): FramePlan[] {
  const { moon } = night;
  if (moon === undefined) return [];
  return moon.frames.map((frame, k) => {
    const exposure: Exposure = { ...night.exposure, ...frame };
    const { part } = moon.exposure;
    return {
      file: `${night.folder}/moon-${k + 1}.fits`,
      seed: night.seed + k,
      sky: night.sky,
      nebulae: [],
      trails: [],
      cosmicRays: 0,
      optics: night.optics,
      camera: night.camera,
      exposure,
      header: [
        ...writeHeader(night, exposure, k),
        { keyword: "XORGSUBF", value: part.xPx, comment: "first column read, px" },
        { keyword: "YORGSUBF", value: part.yPx, comment: "first row read, from the bottom, px" },
      ],
      rowsTopDown: night.rowsTopDown,
      moon: { ...moon.exposure, part },
    };
  });
}

function writeHeader(night: Night, exposure: Exposure, k: number): HeaderCard[] {
  const { camera, optics } = night;
  const start = new Date(Date.parse(`${night.start}Z`) + k * (exposure.exposureS + 14) * 1000);
  const card = (keyword: string, value: string | number, comment: string): HeaderCard => ({
    keyword,
    value,
    comment,
  });
  return [
    card("DATE-OBS", start.toISOString().slice(0, 19), "start of the exposure, UTC"),
    card("IMAGETYP", "light", ""),
    card("OBJECT", night.object, ""),
    card("EXPTIME", exposure.exposureS, "s"),
    card("TELESCOP", night.telescope, ""),
    card("FOCALLEN", Math.round(optics.focalLengthMm), "mm"),
    card("APTDIA", optics.apertureMm, "mm"),
    card("INSTRUME", night.instrument, ""),
    card("XPIXSZ", camera.pixelPitchUm, "um"),
    card("YPIXSZ", camera.pixelPitchUm, "um"),
    card("XBINNING", 1, ""),
    card("YBINNING", 1, ""),
    card("EGAIN", camera.gainElectronsPerAdu, "e-/ADU"),
    card("FILTER", night.filter, ""),
    ...(camera.cfa === "none" ? [] : [card("BAYERPAT", camera.cfa, "from the first stored row")]),
    card("CCD-TEMP", -10, "C"),
    card("OBJCTALT", night.altitudeDeg, "deg"),
    card("SWCREATE", "demo simulator", "a drawing, not an observation"),
  ];
}
