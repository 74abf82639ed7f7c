import type { Tracking } from "./conditions.ts";
import { sinc } from "./pupil.ts";

/** Half-maximum width of the long-exposure Kolmogorov image in lambda / r0: Fried 1966, Racine 1996 (refined digits). */
export const kolmogorovWidth = 0.975865;
/** Coefficient of the long-exposure transfer exp(-3.442 (lambda f / r0)^(5/3)): Fried 1966 (3.44). */
export const kolmogorovCoefficient = 3.442;

/** Seeing's width grows as lambda^(-1/5): Fried 1966. */
export function scaleSeeing(seeingArcsecAt550: number, wavelengthNm: number): number {
  return seeingArcsecAt550 * (wavelengthNm / 550) ** -0.2;
}

/** Transfer of pure Kolmogorov seeing whose image is `fwhmUm` wide, at a frequency in cycles/um. */
export function transferKolmogorov(fwhmUm: number, frequency: number): number {
  return Math.exp(-kolmogorovCoefficient * ((frequency * fwhmUm) / kolmogorovWidth) ** (5 / 3));
}

/**
 * Transfer of the mount's motion at frequency (fx, fy) in cycles/um of the image, rows downwards: real and imaginary
 * part. Gaussian wander exp(-2 pi2 (sigma f)2), a drift sinc(L f), a jump of two points whose mean stays in place.
 */
export function transferTracking(
  tracking: Tracking,
  umPerArcsec: number,
  fx: number,
  fy: number,
): [real: number, imaginary: number] {
  let size = 1;
  let real = 1;
  let imaginary = 0;
  const along = (angleDeg: number): number => {
    const angle = (angleDeg * Math.PI) / 180;
    return (fx * Math.cos(angle) - fy * Math.sin(angle)) * umPerArcsec;
  };
  const { jitter, drift, jump } = tracking;
  if (jitter !== undefined) {
    const major = along(jitter.angleDeg) * jitter.majorRmsArcsec;
    const minor = along(jitter.angleDeg + 90) * jitter.minorRmsArcsec;
    size *= Math.exp(-2 * Math.PI ** 2 * (major * major + minor * minor));
  }
  if (drift !== undefined) size *= sinc(along(drift.angleDeg) * drift.lengthArcsec);
  if (jump !== undefined) {
    const turns = 2 * Math.PI * along(jump.angleDeg) * jump.lengthArcsec;
    const first = turns * jump.share;
    const second = turns * (jump.share - 1);
    real = (1 - jump.share) * Math.cos(first) + jump.share * Math.cos(second);
    imaginary = (1 - jump.share) * Math.sin(first) + jump.share * Math.sin(second);
  }
  return [size * real, size * imaginary];
}
