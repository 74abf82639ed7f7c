/**
 * Reproducible random numbers: the seed is an argument, the same seed gives the same sequence on every machine.
 */

/** A source of uniform deviates in [0, 1). */
export type Random = () => number;

/** Spreads one 32-bit seed over several state words, so that seeds 1, 2, 3 start unrelated sequences. */
function makeSeedSequence(seed: number): () => number {
  // splitmix32: the 32-bit finaliser of MurmurHash3 (Appleby 2011, public domain) over a Weyl sequence with the golden ratio
  let state = seed >>> 0;
  return () => {
    state = (state + 0x9e3779b9) >>> 0;
    let word = state;
    word = Math.imul(word ^ (word >>> 16), 0x85ebca6b);
    word = Math.imul(word ^ (word >>> 13), 0xc2b2ae35);
    return (word ^ (word >>> 16)) >>> 0;
  };
}

/**
 * Uniform deviates in [0, 1) with 53 random bits each, from xoshiro128** (Blackman & Vigna 2021,
 * ACM Trans. Math. Softw. 47:36; period 2^128 - 1).
 *
 * @param seed - a whole number; its lowest 32 bits count, a fraction is cut off
 */
export function makeRandom(seed: number): Random {
  const next = makeSeedSequence(seed);
  return makeRandomFromState([next(), next(), next(), next()]);
}

/** As `makeRandom`, from the four 32-bit words of the generator's state, not all zero: to continue or to check a sequence. */
export function makeRandomFromState(state: readonly [number, number, number, number]): Random {
  const drawWord = makeWordSource(state);
  return () => ((drawWord() >>> 5) * 0x4000000 + (drawWord() >>> 6)) / 0x20000000000000;
}

/** The bare 32-bit output words of xoshiro128**. */
export function makeWordSource(state: readonly [number, number, number, number]): () => number {
  let [s0, s1, s2, s3] = state;
  return () => {
    const scrambled = Math.imul(s1, 5);
    const word = Math.imul((scrambled << 7) | (scrambled >>> 25), 9) >>> 0;
    const shifted = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= shifted;
    s3 = (s3 << 11) | (s3 >>> 21);
    return word;
  };
}

/** Normal deviates of mean 0 and standard deviation 1, by the polar method (Marsaglia & Bray 1964, SIAM Review 6:260). */
export function makeNormalRandom(random: Random): Random {
  let spare: number | null = null;
  return () => {
    if (spare !== null) {
      const deviate = spare;
      spare = null;
      return deviate;
    }
    for (;;) {
      const u = 2 * random() - 1;
      const v = 2 * random() - 1;
      const square = u * u + v * v;
      if (square > 0 && square < 1) {
        const factor = Math.sqrt((-2 * Math.log(square)) / square);
        spare = v * factor;
        return u * factor;
      }
    }
  };
}

/** A whole number in [0, count), each as likely; count up to 2^32. */
export function drawIndex(random: Random, count: number): number {
  return Math.floor(random() * count);
}

/**
 * Number of events of a Poisson process with the given mean. Below 30 by multiplication of uniform deviates
 * (Knuth, TAOCP vol. 2, 3.4.1), above by transformed rejection (Hormann 1993, Insurance: Math. & Econ. 12:39, PTRS).
 */
export function drawPoisson(random: Random, mean: number): number {
  if (!(mean > 0)) return 0;
  if (mean < 30) {
    const limit = Math.exp(-mean);
    let count = 0;
    for (let product = random(); product > limit; product *= random()) count++;
    return count;
  }
  const b = 0.931 + 2.53 * Math.sqrt(mean);
  const a = -0.059 + 0.02483 * b;
  const inverseAlpha = 1.1239 + 1.1328 / (b - 3.4);
  const quickLimit = 0.9277 - 3.6224 / (b - 2);
  const logMean = Math.log(mean);
  for (;;) {
    const u = random() - 0.5;
    const v = random();
    const distance = 0.5 - Math.abs(u);
    const count = Math.floor(((2 * a) / distance + b) * u + mean + 0.43);
    if (distance >= 0.07 && v <= quickLimit) return count;
    if (count < 0 || (distance < 0.013 && v > distance)) continue;
    const accept = Math.log((v * inverseAlpha) / (a / (distance * distance) + b));
    if (accept <= -mean + count * logMean - logFactorial(count)) return count;
  }
}

/** ln n!, exact by a sum below 10, else Stirling's series to 1/n^5 (error below 1e-10). */
function logFactorial(count: number): number {
  if (count < 10) {
    let sum = 0;
    for (let factor = 2; factor <= count; factor++) sum += Math.log(factor);
    return sum;
  }
  const n = count + 1;
  const inverse = 1 / n;
  const square = inverse * inverse;
  const series = inverse * (1 / 12 - square * (1 / 360 - square / 1260));
  return (n - 0.5) * Math.log(n) - n + 0.5 * Math.log(2 * Math.PI) + series;
}
