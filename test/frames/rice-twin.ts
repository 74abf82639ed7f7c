/** A slow, plain Rice packer and unpacker over strings of "0" and "1", written from the FITS standard's own words. */

const sizes = { 1: [3, 6], 2: [4, 14], 4: [5, 25] } as const;

const toBits = (value: bigint, width: number): string =>
  BigInt.asUintN(width, value).toString(2).padStart(width, "0");

/** Differences, folded to whole numbers from 0, wrapped to the size. */
function foldDifference(difference: bigint, width: number): bigint {
  const wrapped = BigInt.asIntN(width, difference);
  return BigInt.asUintN(width, wrapped >= 0n ? 2n * wrapped : -2n * wrapped - 1n);
}

/** Packs with the split that the caller gives for each block (-1: all differences zero, the largest: plain). */
export function packRicePlainly(
  values: readonly number[],
  bytes: 1 | 2 | 4,
  blockSize: number,
  chooseSplit: (block: number) => number,
): Uint8Array {
  const [splitBits, splitMax] = sizes[bytes];
  const width = 8 * bytes;
  let bits = toBits(BigInt(values[0]), width);
  let last = BigInt(values[0]);
  for (let start = 0; start < values.length; start += blockSize) {
    const folded = values.slice(start, start + blockSize).map((value) => {
      const code = foldDifference(BigInt(value) - last, width);
      last = BigInt(value);
      return code;
    });
    const split = folded.every((code) => code === 0n) ? -1 : Math.max(0, chooseSplit(start / blockSize));
    bits += toBits(BigInt(split + 1), splitBits);
    if (split < 0) continue;
    for (const code of folded) {
      if (split === splitMax) bits += toBits(code, width);
      else bits += `${"0".repeat(Number(code >> BigInt(split)))}1${split > 0 ? toBits(code, split) : ""}`;
    }
  }
  const whole = bits.padEnd(8 * Math.ceil(bits.length / 8), "0");
  return Uint8Array.from({ length: whole.length / 8 }, (_, i) =>
    Number.parseInt(whole.slice(8 * i, 8 * i + 8), 2),
  );
}

/** Unpacks bit by bit. */
export function unpackRicePlainly(
  packed: Uint8Array,
  count: number,
  bytes: 1 | 2 | 4,
  blockSize: number,
): number[] {
  const [splitBits, splitMax] = sizes[bytes];
  const width = 8 * bytes;
  const bits = [...packed].map((byte) => byte.toString(2).padStart(8, "0")).join("");
  let at = 0;
  const take = (n: number): bigint => {
    const text = bits.slice(at, at + n);
    at += n;
    return n === 0 ? 0n : BigInt(`0b${text}`);
  };
  let last = take(width);
  const values: number[] = [];
  for (let start = 0; start < count; start += blockSize) {
    const split = Number(take(splitBits)) - 1;
    for (let i = start; i < Math.min(count, start + blockSize); i++) {
      let code = 0n;
      if (split === splitMax) code = take(width);
      else if (split >= 0) {
        let zeros = 0n;
        while (take(1) === 0n) zeros++;
        code = (zeros << BigInt(split)) + take(split);
      }
      last += code % 2n === 0n ? code / 2n : -(code + 1n) / 2n;
      values.push(Number(bytes === 1 ? BigInt.asUintN(8, last) : BigInt.asIntN(width, last)));
    }
  }
  return values;
}
