/** A seeded source of randomness: the same seed gives the same numbers on every machine. */
export interface RandomSource {
  /** Whole number, uniform over 0 .. 2^32 - 1. */
  drawUint32: () => number;
  /** Uniform over [0, 1). */
  drawUniform: () => number;
  /** Standard normal deviate. */
  drawNormal: () => number;
  /** Poisson deviate of any mean. */
  drawPoisson: (mean: number) => number;
}

/**
 * Small fast counter generator sfc32: Doty-Humphrey, PractRand (2010), from memory. Seeded through the finaliser of
 * MurmurHash3 (Appleby), so that neighbouring seeds share nothing.
 */
export function makeRandomSource(seed: number): RandomSource {
  let state = seed | 0;
  const mix = (): number => {
    state = (state + 0x9e3779b9) | 0;
    let h = state ^ (state >>> 16);
    h = Math.imul(h, 0x85ebca6b);
    h ^= h >>> 13;
    h = Math.imul(h, 0xc2b2ae35);
    return (h ^ (h >>> 16)) | 0;
  };
  let [a, b, c, counter] = [mix(), mix(), mix(), 1];
  const drawUint32 = (): number => {
    const sum = (((a + b) | 0) + counter) | 0;
    counter = (counter + 1) | 0;
    a = b ^ (b >>> 9);
    b = (c + (c << 3)) | 0;
    c = ((c << 21) | (c >>> 11)) + sum;
    c |= 0;
    return sum >>> 0;
  };
  for (let i = 0; i < 15; i++) drawUint32();
  const drawUniform = (): number => (drawUint32() * 2097152 + (drawUint32() >>> 11)) / 9007199254740992;
  const drawNormal = (): number =>
    Math.sqrt(-2 * Math.log(1 - drawUniform())) * Math.cos(2 * Math.PI * drawUniform());
  const drawPoisson = (mean: number): number => {
    if (mean > 40) return Math.max(0, Math.round(mean + Math.sqrt(mean) * drawNormal()));
    const limit = Math.exp(-mean);
    let count = -1;
    for (let product = 1; product > limit || count < 0; count++) product *= drawUniform();
    return count;
  };
  return { drawUint32, drawUniform, drawNormal, drawPoisson };
}
