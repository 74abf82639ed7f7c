/** Rice parameters by size of a value: bits of the split field, its largest value, bits of a value. */
const riceSizes = {
  1: { splitBits: 3, splitMax: 6, valueBits: 8 },
  2: { splitBits: 4, splitMax: 14, valueBits: 16 },
  4: { splitBits: 5, splitMax: 25, valueBits: 32 },
} as const;

export type RiceBytes = keyof typeof riceSizes;

/** True where values of that many bytes can be unpacked. */
export function isRiceSize(bytesPerValue: number): bytesPerValue is RiceBytes {
  return bytesPerValue in riceSizes;
}

/** Thrown where the packed bytes end before the values do; whoever knows the file makes a fault of it. */
export class PackedDataError extends Error {}

/**
 * Unpacks Rice-coded integers: differences of neighbours, zigzag, in blocks that each state how many low bits are
 * stored plain; the rest is a count of zero bits. The first value leads, plain and big-endian.
 *
 * @param packed - the tile's bytes
 * @param count - values to unpack
 * @param bytesPerValue - BYTEPIX of the table: 1 (unsigned), 2 or 4 (signed)
 * @param blockSize - values to a block, BLOCKSIZE of the table
 * @returns values, wrapped to their size as the packer did
 * @throws PackedDataError where the bytes end early
 * @source FITS Standard 4.0 (2018), section 10.4.1; Rice, Yeh & Miller 1993
 */
export function unpackRice(
  packed: Uint8Array,
  count: number,
  bytesPerValue: RiceBytes,
  blockSize: number,
): Int32Array {
  const { splitBits, splitMax, valueBits } = riceSizes[bytesPerValue];
  // Each block takes its split field at least: less cannot hold the values, and is found before they get memory.
  const fewestBits = 8 * bytesPerValue + splitBits * Math.ceil(count / blockSize);
  if (8 * packed.length < fewestBits) throw new PackedDataError("bytes end early");
  const values = new Int32Array(count);
  const size = packed.length;
  let position = 0;
  let last = 0;
  for (; position < bytesPerValue; position++) last = (last << 8) | packed[position];
  last = wrap(last, valueBits);

  // `held` has the next `bits` bits at its low end, 31 at most; what lies above them is used up. Bits are taken in
  // place rather than by a function of its own: variables shared with an inner function are slow, by a factor of two.
  let held = 0;
  let bits = 0;
  const signShift = 32 - valueBits;
  for (let start = 0; start < count; start += blockSize) {
    const end = Math.min(start + blockSize, count);
    if (bits < splitBits) {
      if (position >= size) throw new PackedDataError("bytes end early");
      held = (held << 8) | packed[position++];
      bits += 8;
    }
    bits -= splitBits;
    const split = ((held >>> bits) & ((1 << splitBits) - 1)) - 1;
    if (split < 0) {
      // All differences of the block are zero.
      values.fill(last, start, end);
      continue;
    }
    const plain = split >= splitMax;
    // A plain value of 32 bits is taken in two halves: the upper one takes the place of the count of zeros.
    const low = plain ? Math.min(valueBits, 16) : split;
    const lowMask = (1 << low) - 1;
    for (let i = start; i < end; i++) {
      let upper = 0;
      if (!plain) {
        let rest = held & ((1 << bits) - 1);
        while (rest === 0) {
          upper += bits;
          if (position >= size) throw new PackedDataError("bytes end early");
          rest = held = packed[position++];
          bits = 8;
        }
        const above = bits - 32 + Math.clz32(rest);
        upper += above;
        bits -= above + 1;
      } else if (valueBits === 32) {
        while (bits < 16) {
          if (position >= size) throw new PackedDataError("bytes end early");
          held = (held << 8) | packed[position++];
          bits += 8;
        }
        bits -= 16;
        upper = (held >>> bits) & 0xffff;
      }
      while (bits < low) {
        if (position >= size) throw new PackedDataError("bytes end early");
        held = (held << 8) | packed[position++];
        bits += 8;
      }
      bits -= low;
      const code = (upper << low) | ((held >>> bits) & lowMask);
      last += (code >>> 1) ^ -(code & 1);
      last = valueBits === 8 ? last & 0xff : (last << signShift) >> signShift;
      values[i] = last;
    }
  }
  return values;
}

/** An integer wrapped to its stored size: bytes are unsigned, the others signed. */
function wrap(value: number, valueBits: 8 | 16 | 32): number {
  if (valueBits === 32) return value | 0;
  return valueBits === 16 ? (value << 16) >> 16 : value & 0xff;
}
