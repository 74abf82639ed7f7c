import { crc32 } from "./crc32.ts";

const signature = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a);

/** Writes bits as deflate wants them: from the lowest bit of each byte up. */
class BitWriter {
  private readonly bytes: Uint8Array;
  private length = 0;
  private held = 0;
  private count = 0;

  constructor(mostBytes: number) {
    this.bytes = new Uint8Array(mostBytes);
  }

  /** `length` bits of a number, lowest first. */
  put(value: number, length: number): void {
    this.held |= value << this.count;
    this.count += length;
    while (this.count >= 8) {
      this.bytes[this.length++] = this.held & 255;
      this.held >>>= 8;
      this.count -= 8;
    }
  }

  finish(): Uint8Array {
    if (this.count > 0) this.bytes[this.length++] = this.held & 255;
    return this.bytes.subarray(0, this.length);
  }
}

/** A Huffman code's bits go highest first. */
function reverseBits(value: number, length: number): number {
  let reversed = 0;
  for (let k = 0; k < length; k++) reversed |= ((value >> k) & 1) << (length - 1 - k);
  return reversed;
}

/** Fixed code of a literal or length symbol (RFC 1951, 3.2.6): its bits, ready to put, and how many. */
const fixedCodes = Array.from({ length: 288 }, (_, symbol): [number, number] => {
  if (symbol < 144) return [reverseBits(0x30 + symbol, 8), 8];
  if (symbol < 256) return [reverseBits(0x190 + symbol - 144, 9), 9];
  if (symbol < 280) return [reverseBits(symbol - 256, 7), 7];
  return [reverseBits(0xc0 + symbol - 280, 8), 8];
});

/** For each run length from 3 to 258: symbol, extra bits, how many (RFC 1951, 3.2.5). */
const lengthCodes: [number, number, number][] = [];
for (let length = 3, symbol = 257; symbol < 285; symbol++) {
  const extra = symbol < 265 ? 0 : (symbol - 261) >> 2;
  for (let k = 0; k < 1 << extra; k++, length++) lengthCodes[length] = [symbol, k, extra];
}
lengthCodes[258] = [285, 0, 0];

/**
 * Deflates by runs of one byte alone, with the fixed codes: a cut-out's sky is such runs, and the rest is noise that hardly
 * shrinks. Unlike a general compressor it gives the same bytes on every machine and every version of Node.
 */
function deflateRuns(data: Uint8Array): Uint8Array {
  // No symbol takes more than nine bits a byte; a run's takes fewer.
  const bits = new BitWriter(Math.ceil((data.length * 9) / 8) + 4);
  bits.put(0b011, 3);
  for (let at = 0; at < data.length; ) {
    const value = data[at];
    let end = at + 1;
    while (end < data.length && data[end] === value) end++;
    const [code, length] = fixedCodes[value];
    bits.put(code, length);
    at++;
    while (at < end) {
      const run = Math.min(end - at, 258);
      if (run < 3) bits.put(code, length);
      else {
        const [symbol, extra, extraBits] = lengthCodes[run];
        bits.put(fixedCodes[symbol][0], fixedCodes[symbol][1]);
        bits.put(extra, extraBits);
        bits.put(0, 5);
      }
      at += run < 3 ? 1 : run;
    }
  }
  bits.put(fixedCodes[256][0], fixedCodes[256][1]);
  return bits.finish();
}

/** Most bytes that can be summed before the sums outgrow 32 bits (the largest n in zlib's own note, from memory). */
const sumsAtOnce = 5552;

/** Adler-32 (RFC 1950). */
function sumAdler(data: Uint8Array): number {
  let [a, b] = [1, 0];
  for (let at = 0; at < data.length; ) {
    const end = Math.min(data.length, at + sumsAtOnce);
    for (; at < end; at++) {
      a += data[at];
      b += a;
    }
    a %= 65521;
    b %= 65521;
  }
  return ((b << 16) | a) >>> 0;
}

function makeChunk(kind: string, data: Uint8Array): Buffer {
  const chunk = Buffer.alloc(12 + data.length);
  chunk.writeUInt32BE(data.length, 0);
  chunk.write(kind, 4, "latin1");
  chunk.set(data, 8);
  chunk.writeUInt32BE(crc32(chunk.subarray(4, 8 + data.length)), 8 + data.length);
  return chunk;
}

/**
 * A grey picture as PNG (W3C PNG, second edition), row-major, 0 black: 8 bits from bytes, 16 from words. A row that
 * repeats the one above it is written as no change. The same samples give the same bytes everywhere.
 */
export function encodeGreyPng(grey: Uint8Array | Uint16Array, width: number, height: number): Buffer {
  const step = grey.BYTES_PER_ELEMENT;
  const stride = width * step + 1;
  const rows = new Uint8Array(stride * height);
  for (let y = 0; y < height; y++) {
    const from = y * width;
    let x = y > 0 ? 0 : width + 1;
    while (x < width && grey[from + x] === grey[from + x - width]) x++;
    // Filter 2 is the difference to the row above.
    if (x === width) rows[y * stride] = 2;
    else writeSamples(rows, y * stride + 1, grey.subarray(from, from + width));
  }
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header.set([8 * step, 0, 0, 0, 0], 8);
  const sum = Buffer.alloc(4);
  sum.writeUInt32BE(sumAdler(rows));
  const data = Buffer.concat([Uint8Array.of(0x78, 0x01), deflateRuns(rows), sum]);
  return Buffer.concat([
    signature,
    makeChunk("IHDR", header),
    makeChunk("IDAT", data),
    makeChunk("IEND", new Uint8Array(0)),
  ]);
}

/** Samples as a file holds them: the high byte first. */
function writeSamples(rows: Uint8Array, at: number, samples: Uint8Array | Uint16Array): void {
  if (samples.BYTES_PER_ELEMENT === 1) {
    rows.set(samples, at);
    return;
  }
  for (let k = 0; k < samples.length; k++) {
    rows[at + 2 * k] = samples[k] >> 8;
    rows[at + 2 * k + 1] = samples[k] & 255;
  }
}
