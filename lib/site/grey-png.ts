import { crc32 } from "./crc32.ts";

const signature = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a);

/** Most bytes of one stored block (RFC 1951, 3.2.4). */
const storedAtOnce = 65535;

/**
 * Bytes as a stream of stored blocks (RFC 1950 and 1951). Stars' pixels are noise that hardly shrinks; and unlike a general
 * compressor this gives the same bytes on every machine and every version of Node.
 */
function storeBytes(data: Uint8Array): Buffer {
  const blocks = Math.max(1, Math.ceil(data.length / storedAtOnce));
  const stream = Buffer.alloc(2 + 5 * blocks + data.length + 4);
  stream.set([0x78, 0x01]);
  let to = 2;
  for (let k = 0; k < blocks; k++) {
    const block = data.subarray(k * storedAtOnce, (k + 1) * storedAtOnce);
    stream[to] = k === blocks - 1 ? 1 : 0;
    stream.writeUInt16LE(block.length, to + 1);
    stream.writeUInt16LE(~block.length & 0xffff, to + 3);
    stream.set(block, to + 5);
    to += 5 + block.length;
  }
  stream.writeUInt32BE(sumAdler(data), to);
  return stream;
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
 * A grey picture as PNG (W3C PNG, second edition), row-major, 0 black: 8 bits from bytes, 16 from words. The same samples
 * give the same bytes everywhere.
 */
export function encodeGreyPng(grey: Uint8Array | Uint16Array, width: number, height: number): Buffer {
  const step = grey.BYTES_PER_ELEMENT;
  const stride = width * step + 1;
  // Each row begins with its filter: none.
  const rows = new Uint8Array(stride * height);
  for (let y = 0; y < height; y++)
    writeSamples(rows, y * stride + 1, grey.subarray(y * width, (y + 1) * width));
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header.set([8 * step, 0, 0, 0, 0], 8);
  return Buffer.concat([
    signature,
    makeChunk("IHDR", header),
    makeChunk("IDAT", storeBytes(rows)),
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
