/** Bytes of a minimal standard generator; the same for the same seed. */
export function makeRandomBytes(count: number, seed: number): Uint8Array {
  let state = seed;
  return Uint8Array.from({ length: count }, () => {
    state = (16807 * state) % 2147483647;
    return state >> 16;
  });
}
