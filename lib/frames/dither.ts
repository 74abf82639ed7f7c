/** Numbers of the sequence; the standard fixes it so that every reader subtracts what the writer added. */
export const DITHER_LENGTH = 10_000;

const multiplier = 16807;
const modulus = 2147483647;

/**
 * The 10,000 dither numbers, 0 to 1, as 32-bit floats (the precision in which writers and readers in use keep them).
 * Minimal standard generator from seed 1; its 10,000th seed is 1043618065.
 * @source FITS Standard 4.0 (2018), appendix I; Park & Miller 1988
 */
export function makeDitherNumbers(): { numbers: Float32Array; lastSeed: number } {
  const numbers = new Float32Array(DITHER_LENGTH);
  let seed = 1;
  for (let i = 0; i < DITHER_LENGTH; i++) {
    // Below 2^46, so exact in a double.
    seed = (multiplier * seed) % modulus;
    numbers[i] = seed / modulus;
  }
  return { numbers, lastSeed: seed };
}

/** Stored integers with a meaning of their own: exact zero (second dither method) and, commonly, no value. */
export const DITHER_ZERO = -2147483646;

export type Quantization = "NO_DITHER" | "SUBTRACTIVE_DITHER_1" | "SUBTRACTIVE_DITHER_2";

export interface QuantizedTile {
  scale: number;
  zero: number;
  /** Stored integer for "no value"; null: none. */
  blank: number | null;
  method: Quantization;
  /** Row of the table, from 1, plus ZDITHER0 less 1. */
  ditherRow: number;
}

let sequence: Float32Array | null = null;

/**
 * Floats of a quantised tile: (i - random + 0.5) * scale + zero with dither, i * scale + zero without; NaN for no
 * value. Each pixel uses up one number of the sequence, whatever its value.
 * @source FITS Standard 4.0 (2018), section 10.2.2
 */
export function restoreFloats(
  integers: ArrayLike<number>,
  tile: QuantizedTile,
  into: Float32Array | Float64Array,
): void {
  const { scale, zero, blank, method } = tile;
  if (method === "NO_DITHER") {
    for (let i = 0; i < integers.length; i++) {
      into[i] = integers[i] === blank ? Number.NaN : integers[i] * scale + zero;
    }
    return;
  }
  sequence ??= makeDitherNumbers().numbers;
  const keepsZero = method === "SUBTRACTIVE_DITHER_2";
  let seedIndex = (tile.ditherRow - 1) % DITHER_LENGTH;
  let next = Math.trunc(sequence[seedIndex] * 500);
  for (let i = 0; i < integers.length; i++) {
    const integer = integers[i];
    if (integer === blank) into[i] = Number.NaN;
    else if (keepsZero && integer === DITHER_ZERO) into[i] = 0;
    else into[i] = (integer - sequence[next] + 0.5) * scale + zero;
    next++;
    if (next === DITHER_LENGTH) {
      seedIndex = (seedIndex + 1) % DITHER_LENGTH;
      next = Math.trunc(sequence[seedIndex] * 500);
    }
  }
}
