import { type Night, nights } from "./nights.ts";
import type { Exposure, Optics, SimulatedCamera } from "./simulator/conditions.ts";
import type { SkyField } from "./simulator/make-sky.ts";
import { clearBand } from "./simulator/presets.ts";
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
}

/** Every frame of the demo: the lights of each night, then its sweep. */
export function planDemoFrames(): FramePlan[] {
  return nights.flatMap((night) => [...planLights(night), ...planSweep(night)]);
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
