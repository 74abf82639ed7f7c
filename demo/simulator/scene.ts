/** What is in the sky before the lens: positions on the plane that touches the sky at the scene's centre. */

export interface SkyStars {
  /** Eastward and northward tangent-plane coordinates, arcsec. */
  xiArcsec: Float64Array;
  etaArcsec: Float64Array;
  /** At 550 nm. */
  magnitude: Float64Array;
  /** B - V. */
  colourIndex: Float64Array;
}

/** Stars put straight on the sensor, with the electrons they leave in every channel: for measured tests. */
export interface PlacedStars {
  xPx: Float64Array;
  yPx: Float64Array;
  fluxElectrons: Float64Array;
}

/** A smooth elliptical patch of light. */
export interface Nebula {
  xiArcsec: number;
  etaArcsec: number;
  sigmaMajorArcsec: number;
  sigmaMinorArcsec: number;
  /** On the displayed frame. */
  angleDeg: number;
  /** Magnitudes per square arcsecond at its middle. */
  magnitude: number;
}

/** A satellite or aeroplane crossing the whole frame. */
export interface Trail {
  /** A point of the line, px, and its direction as displayed. */
  xPx: number;
  yPx: number;
  angleDeg: number;
  /** Electrons per px of its length. */
  electronsPerPx: number;
  /** Gaussian sigma across, px. */
  sigmaPx: number;
}

export interface Scene {
  stars: SkyStars | null;
  placed: PlacedStars | null;
  nebulae: readonly Nebula[];
  trails: readonly Trail[];
  /** Mean number of cosmic rays in the frame. */
  cosmicRays: number;
}

export const emptyScene: Scene = { stars: null, placed: null, nebulae: [], trails: [], cosmicRays: 0 };

/**
 * Photons of a star of magnitude 0 at 550 nm, per second, square centimetre and nanometre: 1,000 per angstrom
 * (common practice, from memory).
 */
const zeroMagnitudePhotons = 1e4;

/** Electrons of a magnitude-0 source in a band. */
export function countZeroMagnitudeElectrons(
  optics: { apertureMm: number; obstructionMm: number; transmission: number },
  quantumEfficiency: number,
  bandWidthNm: number,
  exposureS: number,
): number {
  const areaCm2 = (Math.PI / 400) * (optics.apertureMm ** 2 - optics.obstructionMm ** 2);
  return zeroMagnitudePhotons * areaCm2 * bandWidthNm * exposureS * optics.transmission * quantumEfficiency;
}

/**
 * Magnitude at a wavelength from the magnitude at 550 nm and B - V: a straight line in 1 / wavelength through B
 * (440 nm) and V (550 nm), our own simplification, near to a black body's.
 */
export function shiftMagnitude(magnitude: number, colourIndex: number, wavelengthNm: number): number {
  return magnitude + (colourIndex * (1 / wavelengthNm - 1 / 550)) / (1 / 440 - 1 / 550);
}
