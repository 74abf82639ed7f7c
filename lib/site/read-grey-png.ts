import { inflateSync } from "node:zlib";

/** Samples of a picture, row-major, in the picture's own steps. */
export interface GreyPicture {
  samples: Uint16Array | Uint8Array;
  width: number;
  height: number;
}

const largestSide = 2048;

/**
 * A grey PNG of 8 or 16 bits without interlacing and without palette, as measuring writes cut-outs; null for any other
 * file, which a general reader may still know. Nothing is allocated beyond what the header's size asks for.
 */
export function readGreyPng(bytes: Buffer): GreyPicture | null {
  if (
    bytes.length < 33 ||
    bytes.readUInt32BE(0) !== 0x89504e47 ||
    bytes.toString("latin1", 12, 16) !== "IHDR"
  )
    return null;
  const [width, height, depth, colour, interlace] = [
    bytes.readUInt32BE(16),
    bytes.readUInt32BE(20),
    bytes[24],
    bytes[25],
    bytes[28],
  ];
  const isPlain = (depth === 8 || depth === 16) && colour === 0 && interlace === 0;
  if (!isPlain || width < 1 || height < 1 || width > largestSide || height > largestSide) return null;
  const step = depth / 8;
  const rowBytes = width * step;
  const rows = inflate(listData(bytes), (rowBytes + 1) * height);
  if (rows === null || !unfilter(rows, rowBytes, height, step)) return null;
  const samples = depth === 8 ? new Uint8Array(width * height) : new Uint16Array(width * height);
  for (let y = 0; y < height; y++) {
    const from = y * (rowBytes + 1) + 1;
    for (let x = 0; x < width; x++) {
      samples[y * width + x] = depth === 8 ? rows[from + x] : rows.readUInt16BE(from + 2 * x);
    }
  }
  return { samples, width, height };
}

function listData(bytes: Buffer): Buffer[] {
  const parts: Buffer[] = [];
  for (let at = 8; at + 12 <= bytes.length; ) {
    const length = bytes.readUInt32BE(at);
    if (bytes.toString("latin1", at + 4, at + 8) === "IDAT")
      parts.push(bytes.subarray(at + 8, at + 8 + length));
    at += 12 + length;
  }
  return parts;
}

function inflate(parts: Buffer[], length: number): Buffer | null {
  try {
    const rows = inflateSync(Buffer.concat(parts), { maxOutputLength: length });
    return rows.length === length ? rows : null;
  } catch {
    return null;
  }
}

/** Undoes the rows' filters in place (W3C PNG, 9.2); false where a filter is unknown. */
function unfilter(rows: Buffer, rowBytes: number, height: number, step: number): boolean {
  const stride = rowBytes + 1;
  for (let y = 0; y < height; y++) {
    const from = y * stride + 1;
    const filter = rows[from - 1];
    if (filter > 4) return false;
    for (let k = 0; k < rowBytes && filter !== 0; k++) {
      const left = k < step ? 0 : rows[from + k - step];
      const up = y === 0 ? 0 : rows[from + k - stride];
      const upLeft = k < step || y === 0 ? 0 : rows[from + k - stride - step];
      const guess =
        filter === 1
          ? left
          : filter === 2
            ? up
            : filter === 3
              ? (left + up) >> 1
              : guessPaeth(left, up, upLeft);
      rows[from + k] = (rows[from + k] + guess) & 255;
    }
  }
  return true;
}

function guessPaeth(left: number, up: number, upLeft: number): number {
  const guess = left + up - upLeft;
  const [a, b, c] = [Math.abs(guess - left), Math.abs(guess - up), Math.abs(guess - upLeft)];
  if (a <= b && a <= c) return left;
  return b <= c ? up : upLeft;
}
