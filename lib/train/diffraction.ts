/**
 * The image of a point by a round pupil without aberrations, with or without a round central obstruction, in one colour.
 * Lengths in units of wavelength times focal ratio: multiply by lambda N for the sensor, by lambda / D for the sky.
 */

/** Diameter of the first dark ring, clear pupil: 2 x 1.219670 (Smith, Modern Optical Engineering, 4th ed., 9.10; zero of J1). */
export const airyDiameterFactor = 2.43934;
/** Full width at half maximum, clear pupil: 1.028994. */
export const airyFwhmFactor = 1.028994;

const steps = 64;

/**
 * Bessel function J1 by Bessel's integral (NIST DLMF 10.9.2): the trapezoidal rule on a periodic integrand, good to 1e-14
 * for |x| < 40.
 */
export function computeBesselJ1(x: number): number {
  let sum = 0;
  for (let step = 0; step < steps; step++) {
    const angle = (2 * Math.PI * (step + 0.5)) / steps;
    sum += Math.cos(angle - x * Math.sin(angle));
  }
  return sum / steps;
}

/**
 * Intensity at a distance from the centre, 1 at the centre (Born & Wolf, Principles of Optics, 8.6.2).
 *
 * @param radius - in lambda N
 * @param obstruction - diameter of the obstruction over that of the aperture, 0..1
 */
export function computeAnnularIntensity(radius: number, obstruction: number): number {
  const ratio = obstruction * obstruction;
  const amplitude =
    (computeDiscAmplitude(Math.PI * radius) - ratio * computeDiscAmplitude(Math.PI * radius * obstruction)) /
    (1 - ratio);
  return amplitude * amplitude;
}

function computeDiscAmplitude(v: number): number {
  return v < 1e-6 ? 1 - (v * v) / 8 : (2 * computeBesselJ1(v)) / v;
}

/** Half-maximum width and diameter of the first dark ring of an annular pupil, both in lambda N. */
export function computeAnnularWidths(obstruction: number): { fwhm: number; firstDarkDiameter: number } {
  const halfMaximum = findFirst((radius) => computeAnnularIntensity(radius, obstruction) - 0.5);
  const ratio = obstruction * obstruction;
  const dark = findFirst(
    (radius) =>
      computeDiscAmplitude(Math.PI * radius) - ratio * computeDiscAmplitude(Math.PI * radius * obstruction),
  );
  return { fwhm: 2 * halfMaximum, firstDarkDiameter: 2 * dark };
}

/** The smallest radius at which a function that starts positive reaches zero; both roots sought lie below 1.3. */
function findFirst(compute: (radius: number) => number): number {
  let inner = 0;
  while (compute(inner + 0.05) > 0 && inner < 1.3) inner += 0.05;
  let outer = inner + 0.05;
  for (let halving = 0; halving < 60; halving++) {
    const middle = (inner + outer) / 2;
    if (compute(middle) > 0) inner = middle;
    else outer = middle;
  }
  return (inner + outer) / 2;
}
