import {
  colour61,
  colour61Bands,
  cygnus,
  cygnusNebulae,
  heron26,
  lyra,
  makeReduced,
  native,
} from "./equipment.ts";
import type { Exposure, Optics, SimulatedCamera } from "./simulator/conditions.ts";
import type { MoonExposure } from "./simulator/draw-moon.ts";
import type { SkyField } from "./simulator/make-sky.ts";
import { plainExposure } from "./simulator/presets.ts";
import type { Nebula, Trail } from "./simulator/scene.ts";

/** One evening with one state of a train. */
export interface Night {
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
  /** A focus sweep after the lights, binned 2 x 2; the sensor stands `umFromLights` beyond where the lights were taken. */
  sweep?: {
    exposureS: number;
    umPerStep: number;
    /** Position of the focuser at which the lights were taken, steps. */
    lightsPosition: number;
    frames: readonly { position: number; seeingArcsec: number; tracking: Exposure["tracking"] }[];
  };
  /** Flats taken on the morning after, and where the camera's bias frames lie. */
  flats?: {
    count: number;
    exposureS: number;
    /** Share of saturation, by channel. */
    levels: Readonly<Record<string, number>>;
    gradient: { share: number; angleDeg: number };
  };
  /** The Moon instead of a star field: `frames` then has nothing, and the camera reads a part of the sensor. */
  moon?: { exposure: MoonExposure; frames: readonly Pick<Exposure, "seeingArcsec" | "tracking">[] };
  rowsTopDown: boolean;
  seed: number;
}

const steady = (rms: number, angleDeg: number): Exposure["tracking"] => ({
  jitter: { majorRmsArcsec: rms, minorRmsArcsec: rms * 0.75, angleDeg },
});

/** What the evenings with the 115 mm refractor share. */
const lyraEvening = {
  object: "Lyra field",
  instrument: "Heron 26",
  telescope: "Tarnlight 115",
  filter: "clear",
  camera: heron26,
  sky: lyra,
  nebulae: [],
  rowsTopDown: false,
};

/** What the evenings with the colour camera share. */
const colourEvening = {
  instrument: "Heron 26C",
  telescope: "Tarnlight 61",
  filter: "none",
  optics: colour61,
  camera: { ...heron26, cfa: "RGGB", quantumEfficiency: 0.75, readNoiseElectrons: 1.7 } as const,
  sky: cygnus,
  rowsTopDown: true,
};

const exposeUnder = (skyMagnitude: number, share: number, angleDeg: number): Exposure => ({
  ...plainExposure,
  skyMagnitude,
  skyGradient: { share, angleDeg },
});

export const nights: readonly Night[] = [
  {
    folder: "tarn-115-native/2026-10-03",
    start: "2026-10-03T20:14:05",
    ...lyraEvening,
    altitudeDeg: 60,
    temperatureC: 7,
    optics: native,
    exposure: exposeUnder(20.3, 0.12, 250),
    frames: [
      { seeingArcsec: 2.35, tracking: steady(0.45, 95), ditherPx: { x: 0, y: 0 } },
      { seeingArcsec: 2.5, tracking: steady(0.5, 100), ditherPx: { x: 11.3, y: -7.8 } },
      { seeingArcsec: 2.3, tracking: steady(0.42, 92), ditherPx: { x: -8.6, y: 12.4 } },
    ],
    sweep: {
      exposureS: 20,
      umPerStep: 1.6,
      lightsPosition: 8240,
      frames: [
        { position: 8140, seeingArcsec: 2.4, tracking: steady(0.45, 95) },
        { position: 8165, seeingArcsec: 2.55, tracking: steady(0.5, 88) },
        { position: 8190, seeingArcsec: 2.35, tracking: steady(0.42, 93) },
        { position: 8215, seeingArcsec: 2.45, tracking: steady(0.48, 97) },
        { position: 8240, seeingArcsec: 2.6, tracking: steady(0.5, 91) },
        { position: 8265, seeingArcsec: 2.4, tracking: steady(0.44, 96) },
        { position: 8290, seeingArcsec: 2.5, tracking: steady(0.47, 90) },
        { position: 8315, seeingArcsec: 2.35, tracking: steady(0.43, 94) },
        { position: 8340, seeingArcsec: 2.45, tracking: steady(0.46, 92) },
      ],
    },
    flats: {
      count: 4,
      exposureS: 1.6,
      levels: { L: 0.52 },
      gradient: { share: 0.008, angleDeg: 35 },
    },
    seed: 5100,
  },
  {
    folder: "tarn-115-reduced/2026-10-04",
    start: "2026-10-04T20:31:40",
    ...lyraEvening,
    altitudeDeg: 57,
    temperatureC: 5,
    optics: makeReduced(-0.68, -3),
    exposure: exposeUnder(20.4, 0.1, 245),
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
    seed: 5200,
  },
  {
    folder: "tarn-115-reduced/2026-10-09",
    start: "2026-10-09T20:12:30",
    ...lyraEvening,
    altitudeDeg: 56,
    temperatureC: 6,
    optics: makeReduced(-0.38, 2),
    exposure: exposeUnder(20.3, 0.12, 240),
    frames: [{ seeingArcsec: 1.9, tracking: steady(0.4, 93), ditherPx: { x: 0, y: 0 } }],
    seed: 5250,
  },
  {
    folder: "tarn-115-reduced/2026-10-17",
    start: "2026-10-17T19:48:22",
    ...lyraEvening,
    altitudeDeg: 56,
    temperatureC: 3,
    optics: makeReduced(0.82, 5),
    exposure: exposeUnder(20.1, 0.22, 200),
    frames: [
      { seeingArcsec: 3.3, tracking: steady(0.6, 100), ditherPx: { x: 0, y: 0 } },
      { seeingArcsec: 3.5, tracking: steady(0.65, 94), ditherPx: { x: -6.9, y: -10.5 } },
      { seeingArcsec: 3.35, tracking: steady(0.62, 97), ditherPx: { x: 8.2, y: 5.7 } },
    ],
    seed: 5300,
  },
  {
    folder: "tarn-115-reduced/2026-10-24",
    start: "2026-10-24T19:22:48",
    ...lyraEvening,
    altitudeDeg: 56,
    temperatureC: 2,
    optics: makeReduced(0.42, -2, { shimTilt: { x: 0.7, y: 0.9 } }),
    exposure: exposeUnder(20.2, 0.12, 240),
    frames: [{ seeingArcsec: 2.9, tracking: steady(0.5, 96), ditherPx: { x: 0, y: 0 } }],
    seed: 5350,
  },
  {
    folder: "tarn-115-reduced/2026-10-30",
    start: "2026-10-30T19:05:11",
    ...lyraEvening,
    altitudeDeg: 55,
    temperatureC: 1,
    optics: makeReduced(0.12, 2),
    exposure: exposeUnder(20.5, 0.08, 255),
    frames: [
      { seeingArcsec: 2.2, tracking: steady(0.4, 91), ditherPx: { x: 0, y: 0 } },
      { seeingArcsec: 2.3, tracking: steady(0.45, 97), ditherPx: { x: 7.4, y: 9.1 } },
      { seeingArcsec: 2.25, tracking: steady(0.42, 93), ditherPx: { x: -10.2, y: -5.6 } },
    ],
    flats: {
      count: 4,
      exposureS: 1.1,
      levels: { L: 0.55 },
      gradient: { share: 0.012, angleDeg: -50 },
    },
    seed: 5400,
  },
  {
    folder: "tarn-115-reduced/2026-10-31",
    start: "2026-10-31T19:01:20",
    ...lyraEvening,
    altitudeDeg: 55,
    temperatureC: 1,
    optics: makeReduced(0.12, 3, { turned: true }),
    exposure: exposeUnder(20.5, 0.12, 240),
    frames: [{ seeingArcsec: 2.3, tracking: steady(0.42, 95), ditherPx: { x: 0, y: 0 } }],
    seed: 5450,
  },
  {
    folder: "tarn-61-colour/2026-10-11",
    start: "2026-10-11T20:52:30",
    object: "Gamma Cygni field",
    ...colourEvening,
    altitudeDeg: 68,
    temperatureC: 6,
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
      { seeingArcsec: 2.95, tracking: steady(1.05, 4), ditherPx: { x: -4.4, y: 2.9 } },
    ],
    flats: {
      count: 4,
      exposureS: 0.9,
      levels: { R: 0.42, G: 0.56, B: 0.37 },
      gradient: { share: 0.009, angleDeg: 100 },
    },
    seed: 5500,
  },
  {
    folder: "tarn-61-colour/2026-10-23",
    start: "2026-10-23T18:41:10",
    object: "Moon",
    ...colourEvening,
    altitudeDeg: 34,
    temperatureC: 4,
    nebulae: [],
    exposure: {
      ...plainExposure,
      exposureS: 0.004,
      bands: colour61Bands,
      dispersion: { zenithDistanceDeg: 56, zenithAngleDeg: 101 },
    },
    frames: [],
    moon: {
      exposure: {
        radiusArcsec: 931,
        phaseAngleDeg: 42,
        sunAngleDeg: 195,
        centreMm: { x: 0.35, y: -0.2 },
        levels: { R: 0.52, G: 0.7, B: 0.44 },
        part: { xPx: 2720, yPx: 1536, widthPx: 980, heightPx: 920 },
        terrainArcsec: 0.7,
        seed: 5610,
      },
      frames: [
        { seeingArcsec: 2.7, tracking: {} },
        { seeingArcsec: 2.9, tracking: {} },
        { seeingArcsec: 2.8, tracking: {} },
      ],
    },
    seed: 5600,
  },
];
