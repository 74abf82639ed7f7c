import type { RandomSource } from "./random.ts";

const tableBits = 16;
const tableSize = 1 << tableBits;
let quantiles: Float32Array | null = null;

/**
 * Standard normal quantiles at the middles of 65,536 equal shares, scaled so that their variance is 1. Two of them
 * added and divided by sqrt(2) give a deviate whose tails reach beyond 5 sigma: one 32-bit number a deviate.
 */
function tabulateQuantiles(): Float32Array {
  if (quantiles !== null) return quantiles;
  const table = new Float64Array(tableSize);
  let sum = 0;
  for (let i = 0; i < tableSize; i++) {
    table[i] = invertNormal((i + 0.5) / tableSize);
    sum += table[i] ** 2;
  }
  const scale = Math.sqrt(tableSize / sum / 2);
  quantiles = Float32Array.from(table, (value) => value * scale);
  return quantiles;
}

/** Inverse of the normal distribution for a share 0 < p < 1, to rounding. */
function invertNormal(p: number): number {
  if (p > 0.5) return -invertNormal(1 - p);
  // Start: Abramowitz & Stegun 26.2.23, good to 4.5e-4; two of Newton's steps follow.
  const t = Math.sqrt(-2 * Math.log(p));
  let x = -(
    t -
    (2.515517 + t * (0.802853 + t * 0.010328)) / (1 + t * (1.432788 + t * (0.189269 + t * 0.001308)))
  );
  for (let pass = 0; pass < 2; pass++) {
    x -= (integrateNormal(x) - p) / (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI));
  }
  return x;
}

/** Normal distribution below x <= 0 by the continued fraction of Mills' ratio, by its series near 0. */
function integrateNormal(x: number): number {
  const density = Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI);
  if (x > -2.5) {
    let term = x;
    let sum = x;
    for (let k = 1; k < 60; k++) {
      term *= (x * x) / (2 * k + 1);
      sum += term;
    }
    return 0.5 + density * sum;
  }
  let fraction = 0;
  for (let k = 80; k > 0; k--) fraction = k / (-x + fraction);
  return density / (-x + fraction);
}

export interface PixelNoise {
  gainElectronsPerAdu: number;
  readNoiseElectrons: number;
  biasAdu: number;
  saturationAdu: number;
}

/** Below this many electrons a pixel's count is drawn as an exact Poisson number. */
const exactBelow = 12;

/**
 * Turns one row of expected electrons into samples: photon noise, read noise, gain, bias, rounding, saturation. Above
 * `exactBelow` electrons the Poisson deviate is a normal one bent to its third moment, (z2 - 1) / 6 (Cornish & Fisher
 * 1937); the next term of that expansion, (z - z3) / (72 sigma), is 0.02 electrons there at two sigma.
 */
export function makeRowExposer(
  noise: PixelNoise,
  random: RandomSource,
): (expected: Float32Array, samples: Uint16Array, offset: number) => void {
  const table = tabulateQuantiles();
  const perAdu = 1 / noise.gainElectronsPerAdu;
  const { readNoiseElectrons, biasAdu, saturationAdu } = noise;
  const read2 = readNoiseElectrons ** 2;
  const mask = tableSize - 1;
  return (expected, samples, offset) => {
    // A generator of the row's own (xorshift, Marsaglia 2003), its state in local variables: several times faster than
    // calling the shared one for each pixel.
    let state = random.drawUint32() | 0 || 1;
    let weyl = random.drawUint32() | 0;
    for (let i = 0; i < expected.length; i++) {
      const mean = Math.max(expected[i], 0);
      state ^= state << 13;
      state ^= state >>> 17;
      state ^= state << 5;
      weyl = (weyl + 0x9e3779b9) | 0;
      let bits = state + weyl;
      bits = Math.imul(bits ^ (bits >>> 15), 0x2c1b3c6d);
      bits ^= bits >>> 16;
      const z = table[bits & mask] + table[bits >>> tableBits];
      let electrons = 0;
      if (mean < exactBelow) {
        state ^= state << 13;
        state ^= state >>> 17;
        state ^= state << 5;
        let share = Math.exp(-mean);
        let left = ((Math.imul(state, 0x297a2d39) >>> 0) + 0.5) / 4294967296 - share;
        let count = 0;
        while (left > 0 && count < 60) {
          count++;
          share *= mean / count;
          left -= share;
        }
        electrons = count + readNoiseElectrons * z;
      } else {
        const variance = mean + read2;
        electrons = mean + Math.sqrt(variance) * z + ((z * z - 1) * mean) / (6 * variance);
      }
      const value = (electrons * perAdu + biasAdu + 0.5) | 0;
      samples[offset + i] = value < 0 ? 0 : Math.min(value, saturationAdu);
    }
  };
}
