import type {
  Band,
  Exposure,
  FieldAberrations,
  Optics,
  Ring,
  SimulatedCamera,
} from "./simulator/conditions.ts";
import type { SkyField } from "./simulator/make-sky.ts";
import { clearBand, plainExposure } from "./simulator/presets.ts";
import type { Nebula, Trail } from "./simulator/scene.ts";
import { deriveField, flattenerF10, reducerR79 } from "./simulator/spacing.ts";
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

const lyra: SkyField = {
  centreRightAscensionDeg: 283.42,
  centreDeclinationDeg: 33.02,
  widthDeg: 2.6,
  heightDeg: 1.9,
  starsPerSquareDegree: 1500,
  faintestMagnitude: 16.8,
  countSlope: 0.36,
  seed: 4101,
};

const cygnus: SkyField = {
  centreRightAscensionDeg: 305.4,
  centreDeclinationDeg: 40.4,
  widthDeg: 5.2,
  heightDeg: 3.6,
  starsPerSquareDegree: 340,
  faintestMagnitude: 14.6,
  countSlope: 0.38,
  seed: 4102,
};

const cygnusNebulae: readonly Nebula[] = [
  {
    xiArcsec: 2400,
    etaArcsec: -900,
    sigmaMajorArcsec: 2000,
    sigmaMinorArcsec: 900,
    angleDeg: 25,
    magnitude: 21.6,
  },
  {
    xiArcsec: -2900,
    etaArcsec: 1300,
    sigmaMajorArcsec: 1500,
    sigmaMinorArcsec: 700,
    angleDeg: 140,
    magnitude: 21.9,
  },
  {
    xiArcsec: -300,
    etaArcsec: 2300,
    sigmaMajorArcsec: 900,
    sigmaMinorArcsec: 300,
    angleDeg: 80,
    magnitude: 22.2,
  },
];

const heron26: SimulatedCamera = {
  widthPx: 6248,
  heightPx: 4176,
  pixelPitchUm: 3.76,
  gainElectronsPerAdu: 0.8,
  readNoiseElectrons: 1.6,
  biasAdu: 500,
  saturationAdu: 65535,
  quantumEfficiency: 0.8,
  cfa: "none",
  hotPixelShare: 1.5e-5,
  ampGlowElectronsPerS: 0.4,
};

/** Baffle in the draw tube, and what stands in the stack between corrector and camera. */
const tarn115Rings: readonly Ring[] = [
  { clearDiameterMm: 64, fromSensorMm: 240 },
  { clearDiameterMm: 50.5, fromSensorMm: 55.8 },
  { clearDiameterMm: 45, fromSensorMm: 37.5 },
];

function makeTarn115(focalLengthMm: number, field: FieldAberrations): Optics {
  return {
    apertureMm: 115,
    focalLengthMm,
    obstructionMm: 0,
    field,
    rings: tarn115Rings,
    exitPupilMm: null,
    transmission: 0.9,
  };
}

/** The camera's own tilt stays with it from night to night; the focus differs a little. */
const heronTilt = { tiltX: 0.75, tiltY: -0.95, centreMm: { x: 0.4, y: -0.3 } };

const native = makeTarn115(
  805,
  deriveField(flattenerF10, -0.18, { ...heronTilt, focusedAtMm: 5, focusErrorUm: 4 }),
);

function makeReduced(spacingErrorMm: number, focusErrorUm: number): Optics {
  const field = deriveField(reducerR79, spacingErrorMm, { ...heronTilt, focusedAtMm: 6, focusErrorUm });
  return makeTarn115(635.95, field);
}

const colour61: Optics = {
  apertureMm: 61,
  focalLengthMm: 293,
  obstructionMm: 0,
  field: {
    defocusUm: -3,
    tiltX: -0.35,
    tiltY: 0.4,
    curvature: 0.055,
    astigmatism: 0.035,
    centreMm: { x: -0.3, y: 0.2 },
    comaUmPerMm: 0.006,
  },
  rings: [{ clearDiameterMm: 47, fromSensorMm: 120 }],
  exitPupilMm: 160,
  transmission: 0.88,
};

const colour61Bands: readonly Band[] = [
  { channel: "R", wavelengthsNm: [615], shares: [1], widthNm: 95, focusShiftUm: 9, lateralPpm: 70 },
  { channel: "G", wavelengthsNm: [535], shares: [1], widthNm: 100, focusShiftUm: 0, lateralPpm: 0 },
  { channel: "B", wavelengthsNm: [465], shares: [1], widthNm: 90, focusShiftUm: 17, lateralPpm: -120 },
];

interface Night {
  folder: string;
  /** Start of the first frame, UTC. */
  start: string;
  object: string;
  instrument: string;
  telescope: string;
  filter: string;
  altitudeDeg: number;
  temperatureC: number;
  optics: Optics;
  camera: SimulatedCamera;
  sky: SkyField;
  nebulae: readonly Nebula[];
  exposure: Exposure;
  /** One frame each: what the air and the mount did. */
  frames: readonly (Pick<Exposure, "seeingArcsec" | "tracking" | "ditherPx"> & {
    trails?: readonly Trail[];
  })[];
  rowsTopDown: boolean;
  seed: number;
}

const steady = (rms: number, angleDeg: number): Exposure["tracking"] => ({
  jitter: { majorRmsArcsec: rms, minorRmsArcsec: rms * 0.75, angleDeg },
});

const nights: readonly Night[] = [
  {
    folder: "tarn-115-native/2026-10-03",
    start: "2026-10-03T20:14:05",
    object: "Lyra field",
    instrument: "Heron 26",
    telescope: "Tarnlight 115",
    filter: "clear",
    altitudeDeg: 60,
    temperatureC: 7,
    optics: native,
    camera: heron26,
    sky: lyra,
    nebulae: [],
    exposure: { ...plainExposure, skyMagnitude: 20.3, skyGradient: { share: 0.12, angleDeg: 250 } },
    frames: [
      { seeingArcsec: 2.35, tracking: steady(0.45, 95), ditherPx: { x: 0, y: 0 } },
      { seeingArcsec: 2.5, tracking: steady(0.5, 100), ditherPx: { x: 11.3, y: -7.8 } },
      { seeingArcsec: 2.3, tracking: steady(0.42, 92), ditherPx: { x: -8.6, y: 12.4 } },
    ],
    rowsTopDown: false,
    seed: 5100,
  },
  {
    folder: "tarn-115-reduced/2026-10-04",
    start: "2026-10-04T20:31:40",
    object: "Lyra field",
    instrument: "Heron 26",
    telescope: "Tarnlight 115",
    filter: "clear",
    altitudeDeg: 57,
    temperatureC: 5,
    optics: makeReduced(-0.68, -3),
    camera: heron26,
    sky: lyra,
    nebulae: [],
    exposure: { ...plainExposure, skyMagnitude: 20.4, skyGradient: { share: 0.1, angleDeg: 245 } },
    frames: [
      { seeingArcsec: 2.6, tracking: steady(0.5, 90), ditherPx: { x: 0, y: 0 } },
      { seeingArcsec: 2.75, tracking: steady(0.55, 96), ditherPx: { x: 9.7, y: 6.2 } },
      {
        seeingArcsec: 2.6,
        tracking: steady(0.5, 88),
        ditherPx: { x: -12.1, y: 4.4 },
        trails: [{ xPx: 2100, yPx: 2600, angleDeg: 24, electronsPerPx: 900, sigmaPx: 1.4 }],
      },
    ],
    rowsTopDown: false,
    seed: 5200,
  },
  {
    folder: "tarn-115-reduced/2026-10-17",
    start: "2026-10-17T19:48:22",
    object: "Lyra field",
    instrument: "Heron 26",
    telescope: "Tarnlight 115",
    filter: "clear",
    altitudeDeg: 56,
    temperatureC: 3,
    optics: makeReduced(0.82, 5),
    camera: heron26,
    sky: lyra,
    nebulae: [],
    exposure: { ...plainExposure, skyMagnitude: 20.1, skyGradient: { share: 0.22, angleDeg: 200 } },
    frames: [
      { seeingArcsec: 3.3, tracking: steady(0.6, 100), ditherPx: { x: 0, y: 0 } },
      { seeingArcsec: 3.5, tracking: steady(0.65, 94), ditherPx: { x: -6.9, y: -10.5 } },
    ],
    rowsTopDown: false,
    seed: 5300,
  },
  {
    folder: "tarn-115-reduced/2026-10-30",
    start: "2026-10-30T19:05:11",
    object: "Lyra field",
    instrument: "Heron 26",
    telescope: "Tarnlight 115",
    filter: "clear",
    altitudeDeg: 55,
    temperatureC: 1,
    optics: makeReduced(0.12, 2),
    camera: heron26,
    sky: lyra,
    nebulae: [],
    exposure: { ...plainExposure, skyMagnitude: 20.5, skyGradient: { share: 0.08, angleDeg: 255 } },
    frames: [
      { seeingArcsec: 2.2, tracking: steady(0.4, 91), ditherPx: { x: 0, y: 0 } },
      { seeingArcsec: 2.3, tracking: steady(0.45, 97), ditherPx: { x: 7.4, y: 9.1 } },
      { seeingArcsec: 2.25, tracking: steady(0.42, 93), ditherPx: { x: -10.2, y: -5.6 } },
    ],
    rowsTopDown: false,
    seed: 5400,
  },
  {
    folder: "tarn-61-colour/2026-10-11",
    start: "2026-10-11T20:52:30",
    object: "Gamma Cygni field",
    instrument: "Heron 26C",
    telescope: "Tarnlight 61",
    filter: "none",
    altitudeDeg: 68,
    temperatureC: 6,
    optics: colour61,
    camera: { ...heron26, cfa: "RGGB", quantumEfficiency: 0.75, readNoiseElectrons: 1.7 },
    sky: cygnus,
    nebulae: cygnusNebulae,
    exposure: {
      ...plainExposure,
      bands: colour61Bands,
      skyMagnitude: 20.2,
      skyGradient: { share: 0.1, angleDeg: 270 },
      dispersion: { zenithDistanceDeg: 22, zenithAngleDeg: 78 },
    },
    frames: [
      { seeingArcsec: 2.9, tracking: steady(1.0, 5), ditherPx: { x: 0, y: 0 } },
      { seeingArcsec: 3.0, tracking: steady(1.1, 8), ditherPx: { x: 5.2, y: -3.7 } },
    ],
    rowsTopDown: true,
    seed: 5500,
  },
];

/** Every frame of the demo. */
export function planDemoFrames(): FramePlan[] {
  return nights.flatMap((night) =>
    night.frames.map(({ trails, ...frame }, k) => {
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
    }),
  );
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
