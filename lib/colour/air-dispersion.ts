/** State of the air at the telescope. */
export interface Air {
  pressureMmHg: number;
  temperatureC: number;
  /** Partial pressure of water vapour. */
  vapourMmHg: number;
}

/** Sea level at 15 C: what is reckoned with where nothing else is known. */
export const standardAir: Air = { pressureMmHg: 760, temperatureC: 15, vapourMmHg: 8 };

const arcsecPerRadian = 206264.806;

/**
 * Refractivity n - 1 of air. Valid from 0.2 to 1.3 um and for zenith distances below some 75 degrees, where the plane
 * layers that the formulas of this file assume still hold.
 *
 * @source Filippenko 1982, PASP 94, 715, equations 1 to 3 (Edlen 1953; Barrell 1951; Coleman, Bozman & Meggers 1960)
 */
export function computeRefractivity(wavelengthUm: number, air: Air): number {
  const inverse2 = 1 / (wavelengthUm * wavelengthUm);
  const { pressureMmHg: p, temperatureC: t, vapourMmHg: f } = air;
  const standard = 64.328 + 29498.1 / (146 - inverse2) + 255.4 / (41 - inverse2);
  const warmth = 1 + 0.003661 * t;
  const dry = (standard * p * (1 + (1.049 - 0.0157 * t) * 1e-6 * p)) / (720.883 * warmth);
  const vapour = (f * (0.0624 - 0.00068 * inverse2)) / warmth;
  return (dry - vapour) * 1e-6;
}

/**
 * How much farther towards the zenith a star appears in one colour than in another, arcsec; positive where `wavelengthUm`
 * is the bluer. NaN below the horizon.
 *
 * @source Filippenko 1982, equation 4: 206265 (n(1) - n(2)) tan z
 */
export function computeDispersion(
  wavelengthUm: number,
  againstUm: number,
  altitudeDeg: number,
  air: Air,
): number {
  if (!(altitudeDeg > 0)) return Number.NaN;
  const zenithDistance = ((90 - altitudeDeg) * Math.PI) / 180;
  const difference = computeRefractivity(wavelengthUm, air) - computeRefractivity(againstUm, air);
  return arcsecPerRadian * difference * Math.tan(zenithDistance);
}

/**
 * Mean magnification of one colour over another that the air itself brings, as a plain ratio: refraction R = A tan z draws
 * a field together by A / cos2 z along the altitude and by A across it (derivative of the same equation), and A differs by
 * colour. Small, but a wide field near the horizon shows it as lateral colour that no lens has.
 */
export function computeAirMagnification(
  wavelengthUm: number,
  againstUm: number,
  altitudeDeg: number,
  air: Air,
): number {
  if (!(altitudeDeg > 0)) return Number.NaN;
  const zenithDistance = ((90 - altitudeDeg) * Math.PI) / 180;
  const difference = computeRefractivity(wavelengthUm, air) - computeRefractivity(againstUm, air);
  return (-difference * (1 / Math.cos(zenithDistance) ** 2 + 1)) / 2;
}

/** Pressure at a height above sea level, standard atmosphere (ICAO Doc 7488, from memory). */
export function computePressureMmHg(heightM: number): number {
  return 760 * (1 - 2.25577e-5 * heightM) ** 5.25588;
}
