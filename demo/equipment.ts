import type { Band, FieldAberrations, Optics, Ring, SimulatedCamera } from "./simulator/conditions.ts";
import type { SkyField } from "./simulator/make-sky.ts";
import type { Nebula } from "./simulator/scene.ts";
import { deriveField, flattenerF10, reducerR79 } from "./simulator/spacing.ts";

// The skies, cameras and telescopes of the invented club: what the records describe, with the faults the records do not
// know of.

export const lyra: SkyField = {
  centreRightAscensionDeg: 283.42,
  centreDeclinationDeg: 33.02,
  widthDeg: 2.6,
  heightDeg: 1.9,
  starsPerSquareDegree: 1500,
  faintestMagnitude: 16.8,
  countSlope: 0.36,
  seed: 4101,
};

export const cygnus: SkyField = {
  centreRightAscensionDeg: 305.4,
  centreDeclinationDeg: 40.4,
  widthDeg: 5.2,
  heightDeg: 3.6,
  starsPerSquareDegree: 340,
  faintestMagnitude: 14.6,
  countSlope: 0.38,
  seed: 4102,
};

export const cygnusNebulae: readonly Nebula[] = [
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

export const heron26: SimulatedCamera = {
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

/** With the reducer the drawer holds a cell for 31 mm filters, and not quite in the middle: the ring that darkens the corners. */
const reducedRings: readonly Ring[] = [
  tarn115Rings[0],
  tarn115Rings[1],
  { clearDiameterMm: 29.3, fromSensorMm: 37.5, offsetMm: { x: 0.35, y: -0.2 } },
];

function makeTarn115(
  focalLengthMm: number,
  field: FieldAberrations,
  rings: readonly Ring[] = tarn115Rings,
): Optics {
  return {
    apertureMm: 115,
    focalLengthMm,
    obstructionMm: 0,
    field,
    rings,
    exitPupilMm: null,
    transmission: 0.9,
  };
}

/**
 * The tilt has two sources: the sensor's seat, which turns with the camera, and the focuser's flange, which stays with
 * the tube, as does the optics' centre. Both as seen at camera angle 0; at 180 degrees the tube's share is turned back.
 */
const cameraTilt = { x: 0.95, y: -0.7 };
const tubeTilt = { x: -0.2, y: -0.25 };
const opticsCentre = { x: 0.4, y: -0.3 };

function turnTube(sign: 1 | -1) {
  return {
    tiltX: cameraTilt.x + sign * tubeTilt.x,
    tiltY: cameraTilt.y + sign * tubeTilt.y,
    centreMm: { x: sign * opticsCentre.x, y: sign * opticsCentre.y },
  };
}

const heronTilt = turnTube(1);

export const native = makeTarn115(
  805,
  deriveField(flattenerF10, -0.18, { ...heronTilt, focusedAtMm: 5, focusErrorUm: 4 }),
);

export interface ReducedSetup {
  /** The camera turned by 180 degrees on the tube. */
  turned?: boolean;
  /** Tilt that a bent shim brings in, um/mm. */
  shimTilt?: { x: number; y: number };
}

export function makeReduced(spacingErrorMm: number, focusErrorUm: number, setup: ReducedSetup = {}): Optics {
  const tilt = turnTube(setup.turned ? -1 : 1);
  const { x, y } = setup.shimTilt ?? { x: 0, y: 0 };
  const field = deriveField(reducerR79, spacingErrorMm, {
    ...tilt,
    tiltX: tilt.tiltX + x,
    tiltY: tilt.tiltY + y,
    focusedAtMm: 6,
    focusErrorUm,
  });
  return makeTarn115(635.95, field, reducedRings);
}

export const colour61: Optics = {
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

export const colour61Bands: readonly Band[] = [
  { channel: "R", wavelengthsNm: [615], shares: [1], widthNm: 95, focusShiftUm: 9, lateralPpm: 70 },
  { channel: "G", wavelengthsNm: [535], shares: [1], widthNm: 100, focusShiftUm: 0, lateralPpm: 0 },
  { channel: "B", wavelengthsNm: [465], shares: [1], widthNm: 90, focusShiftUm: 17, lateralPpm: -120 },
];
