/** Coefficients of Sellmeier's dispersion formula; `c` in square micrometres. */
export interface SellmeierGlass {
  b: readonly [number, number, number];
  c: readonly [number, number, number];
}

/** Borosilicate crown N-BK7, the usual glass of filters: Schott data sheet; n_d 1.5168. */
export const crownGlass: SellmeierGlass = {
  b: [1.03961212, 0.231792344, 1.01046945],
  c: [0.00600069867, 0.0200179144, 103.560653],
};

/** Fused silica: Malitson 1965, J. Opt. Soc. Am. 55:1205; n_d 1.4585. */
export const fusedSilica: SellmeierGlass = {
  b: [0.6961663, 0.4079426, 0.8974794],
  c: [0.0684043 ** 2, 0.1162414 ** 2, 9.896161 ** 2],
};

/** Refractive index at a wavelength in micrometres (in air, room temperature); valid from 0.37 to 2.3 um. */
export function computeGlassIndex(glass: SellmeierGlass, wavelengthUm: number): number {
  const square = wavelengthUm * wavelengthUm;
  let sum = 1;
  for (let term = 0; term < 3; term++) sum += (glass.b[term] * square) / (square - glass.c[term]);
  return Math.sqrt(sum);
}
