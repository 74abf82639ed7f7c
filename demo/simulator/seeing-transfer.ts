import { kolmogorovWidth, transferKolmogorov } from "./night-transfer.ts";

/**
 * Transfer of long-exposure seeing against frequency in cycles per arcsec. `fwhmArcsec` is the width that pure
 * Kolmogorov turbulence of the same r0 would give; an outer scale makes the image narrower.
 */
export function makeSeeingTransfer(
  fwhmArcsec: number,
  outerScaleM: number | null,
  wavelengthUm: number,
): (frequency: number) => number {
  if (fwhmArcsec <= 0) return () => 1;
  if (outerScaleM === null) return (frequency) => transferKolmogorov(fwhmArcsec, frequency);
  const radians = 1 / 206264.806;
  const friedM = (kolmogorovWidth * wavelengthUm * 1e-6) / (fwhmArcsec * radians);
  const structure = tabulateVonKarman();
  return (frequency) => {
    const separationM = (wavelengthUm * 1e-6 * frequency) / radians;
    return Math.exp(
      -0.5 * (outerScaleM / friedM) ** (5 / 3) * structure((2 * Math.PI * separationM) / outerScaleM),
    );
  };
}

/** 2^(1/6) Gamma(11/6) pi^(-8/3) (24/5 Gamma(6/5))^(5/6), and Gamma(5/6) 2^(-1/6). */
const vonKarmanScale =
  2 ** (1 / 6) * 0.9406558582567169 * Math.PI ** (-8 / 3) * ((24 / 5) * 0.9181687423997607) ** (5 / 6);
const vonKarmanLimit = 1.128787029908126 / 2 ** (1 / 6);

let table: ((x: number) => number) | null = null;

/**
 * Phase structure function of von Karman turbulence for (L0 / r0)^(5/3) = 1 against 2 pi separation / L0:
 * scale (limit - x^(5/6) K_5/6(x)). Conan 2000 (thesis), quoted by Tokovinin 2002, PASP 114, 1156 (from memory; its
 * small-x limit is tested against Kolmogorov's 6.8839 x^(5/3)). K is summed from its integral over exp(-x cosh t)
 * by the trapezium rule, which is exact to rounding here.
 */
function tabulateVonKarman(): (x: number) => number {
  if (table !== null) return table;
  const [first, last, count] = [Math.log(1e-4), Math.log(30), 600];
  const values = new Float64Array(count + 1);
  for (let i = 0; i <= count; i++) {
    values[i] = Math.log(structureOf(Math.exp(first + ((last - first) * i) / count)));
  }
  table = (x) => {
    if (x <= 1e-4) return structureOf(1e-4) * (x / 1e-4) ** (5 / 3);
    const at = Math.min(((Math.log(x) - first) / (last - first)) * count, count - 1e-9);
    const k = Math.floor(at);
    return Math.exp(values[k] + (values[k + 1] - values[k]) * (at - k));
  };
  return table;
}

function structureOf(x: number): number {
  const step = 0.01;
  let bessel = 0;
  for (let t = 0; t < 20; t += step) {
    const term = Math.exp(-x * Math.cosh(t)) * Math.cosh((5 / 6) * t);
    bessel += t === 0 ? term / 2 : term;
    if (x * Math.cosh(t) > 700) break;
  }
  return vonKarmanScale * (vonKarmanLimit - x ** (5 / 6) * bessel * step);
}
