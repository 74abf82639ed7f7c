/**
 * What the simulator is told: the optics, the camera, the night and the colour band. Plain data.
 * Positions and angles are those of the records: millimetres from the sensor's centre, x right, y up as displayed;
 * degrees counter-clockwise from +x; heights of the focal surface positive towards the telescope, micrometres.
 */

/** Heights of the two astigmatic focal surfaces over the sensor, and the smooth aberrations beside them. */
export interface FieldAberrations {
  /** Height of the focal surface at the field's centre, um. */
  defocusUm: number;
  /** Gradient of the height along x and y, um/mm. */
  tiltX: number;
  tiltY: number;
  /** um/mm2: both surfaces rise by `curvature` r2, apart by plus and minus `astigmatism` r2. */
  curvature: number;
  astigmatism: number;
  /** Where r2 is counted from, mm. */
  centreMm: { x: number; y: number };
  /** Coma, um of wavefront at the pupil's rim per mm of field radius; 0 where left out. */
  comaUmPerMm?: number;
  /** Primary spherical aberration, um of wavefront at the pupil's rim, same over the field; 0 where left out. */
  sphericalUm?: number;
}

/** A ring that may cut the light cone. */
export interface Ring {
  clearDiameterMm: number;
  fromSensorMm: number;
  /** Its middle off the sensor's, mm; flats are drawn with it, stars as if it were 0. */
  offsetMm?: { x: number; y: number };
}

export interface Optics {
  apertureMm: number;
  /** Effective focal length, after the corrector. */
  focalLengthMm: number;
  obstructionMm: number;
  field: FieldAberrations;
  rings: readonly Ring[];
  /** Distance of the exit pupil from the sensor; null: telecentric. */
  exitPupilMm: number | null;
  /** Share of the light that reaches the sensor, 0 to 1. */
  transmission: number;
}

export type ColourFilterArray = "none" | "RGGB" | "BGGR" | "GRBG" | "GBRG";

export interface SimulatedCamera {
  widthPx: number;
  heightPx: number;
  pixelPitchUm: number;
  gainElectronsPerAdu: number;
  readNoiseElectrons: number;
  biasAdu: number;
  /** Highest value written; 65535 for a converter that fills 16 bits. */
  saturationAdu: number;
  quantumEfficiency: number;
  /** As displayed, from the upper left. */
  cfa: ColourFilterArray;
  /** Share of pixels that are hot. */
  hotPixelShare: number;
  /** Light of the amplifier at its corner (lower right), electrons per pixel and second. */
  ampGlowElectronsPerS: number;
}

/** One colour channel: the light it passes, as a few wavelengths with shares that sum to 1. */
export interface Band {
  /** "L", "R", "G", "B" or a filter's letter. */
  channel: string;
  wavelengthsNm: readonly number[];
  shares: readonly number[];
  /** Width of the band, nm: sets how much light of a star comes through. */
  widthNm: number;
  /** Height of this colour's focal surface over that of the reference colour, um. */
  focusShiftUm: number;
  /** Magnification of this colour over the reference colour's, parts per million. */
  lateralPpm: number;
}

/** How the mount followed; each part may be left out. All angles on the sky, as displayed. */
export interface Tracking {
  /** Gaussian wander: rms along and across its long axis, arcsec. */
  jitter?: { majorRmsArcsec: number; minorRmsArcsec: number; angleDeg: number };
  /** A steady drift over the exposure, arcsec. */
  drift?: { lengthArcsec: number; angleDeg: number };
  /** The mount jumped once: `share` of the exposure lies at the second place. */
  jump?: { lengthArcsec: number; angleDeg: number; share: number };
}

export interface Exposure {
  exposureS: number;
  bands: readonly Band[];
  /** Long-exposure seeing at 550 nm at the frame's altitude: half-maximum width of the Kolmogorov image, arcsec. */
  seeingArcsec: number;
  /** Outer scale of the turbulence, m; null: none (pure Kolmogorov). */
  outerScaleM: number | null;
  tracking: Tracking;
  /** Sky, magnitudes per square arcsecond. */
  skyMagnitude: number;
  /** Gradient of the sky across the sensor's diagonal as a share of its mean, and where it is brightest. */
  skyGradient: { share: number; angleDeg: number };
  /** Atmospheric dispersion; null: none. */
  dispersion: { zenithDistanceDeg: number; zenithAngleDeg: number } | null;
  /** Shift of this frame against the scene's centre, px of the camera. */
  ditherPx: { x: number; y: number };
}
