import type { Exposure } from "./conditions.ts";

/** Refractivity (n - 1) 1e6 of dry air at 15 C and 760 mm of mercury: Filippenko 1982, PASP 94, 715, equation 1. */
export function computeRefractivity(wavelengthNm: number): number {
  const inverse2 = (1000 / wavelengthNm) ** 2;
  return 64.328 + 29498.1 / (146 - inverse2) + 255.4 / (41 - inverse2);
}

/**
 * Shift of a colour against 550 nm by the air, arcsec, x right and y up as displayed: towards the zenith for blue.
 * Filippenko 1982, equation 4, at sea level; the water vapour's share (below 1 %) is left out.
 */
export function measureDispersion(
  dispersion: Exposure["dispersion"],
  wavelengthNm: number,
): { x: number; y: number } {
  if (dispersion === null) return { x: 0, y: 0 };
  const difference = (computeRefractivity(wavelengthNm) - computeRefractivity(550)) * 1e-6;
  const size = 206264.806 * difference * Math.tan((dispersion.zenithDistanceDeg * Math.PI) / 180);
  const angle = (dispersion.zenithAngleDeg * Math.PI) / 180;
  return { x: size * Math.cos(angle), y: size * Math.sin(angle) };
}
