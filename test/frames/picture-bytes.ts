import { crc32, deflateSync } from "node:zlib";

export interface TiffInput {
  widthPx: number;
  heightPx: number;
  /** Interleaved samples, as stored. */
  samples: readonly number[];
  channels?: number;
  bits?: 8 | 16 | 32 | 64;
  float?: boolean;
  bigEndian?: boolean;
  /** 0 min is white, 1 min is black, 2 RGB, 5 CMYK. */
  photometric?: number;
  orientation?: number;
  /** Number of channels at the end that are opacity. */
  alpha?: number;
}

/** An uncompressed TIFF of one strip, written by hand from the TIFF 6.0 specification (Aldus 1992). */
export function makeTiff(input: TiffInput): Buffer {
  const { widthPx, heightPx, samples, channels = 1, bits = 16, float = false, bigEndian = false } = input;
  const { photometric = channels >= 3 ? 2 : 1, orientation, alpha = 0 } = input;
  const big = bigEndian;
  const short = (value: number): Buffer => {
    const bytes = Buffer.alloc(2);
    big ? bytes.writeUInt16BE(value) : bytes.writeUInt16LE(value);
    return bytes;
  };
  const long = (value: number): Buffer => {
    const bytes = Buffer.alloc(4);
    big ? bytes.writeUInt32BE(value) : bytes.writeUInt32LE(value);
    return bytes;
  };
  const pixels = Buffer.alloc((samples.length * bits) / 8);
  const view = new DataView(pixels.buffer, pixels.byteOffset, pixels.byteLength);
  samples.forEach((value, i) => {
    if (float && bits === 64) view.setFloat64(8 * i, value, !big);
    else if (float) view.setFloat32(4 * i, value, !big);
    else if (bits === 32) view.setUint32(4 * i, value, !big);
    else if (bits === 16) view.setUint16(2 * i, value, !big);
    else view.setUint8(i, value);
  });
  const extraAt = 8 + pixels.length + (pixels.length & 1);
  const perChannel = (value: number): Buffer =>
    Buffer.concat(Array.from({ length: channels }, () => short(value)));
  const extra: Buffer[] = [];
  let extraLength = 0;
  const entry = (tag: number, type: 3 | 4, count: number, data: Buffer): Buffer => {
    let field: Buffer = Buffer.concat([data, Buffer.alloc(4)]).subarray(0, 4);
    if (data.length > 4) {
      field = long(extraAt + extraLength);
      extra.push(data);
      extraLength += data.length;
    }
    return Buffer.concat([short(tag), short(type), long(count), field]);
  };
  const entries = [
    entry(256, 4, 1, long(widthPx)),
    entry(257, 4, 1, long(heightPx)),
    entry(258, 3, channels, perChannel(bits)),
    entry(259, 3, 1, short(1)),
    entry(262, 3, 1, short(photometric)),
    entry(273, 4, 1, long(8)),
    ...(orientation === undefined ? [] : [entry(274, 3, 1, short(orientation))]),
    entry(277, 3, 1, short(channels)),
    entry(278, 4, 1, long(heightPx)),
    entry(279, 4, 1, long(pixels.length)),
    entry(284, 3, 1, short(1)),
    ...(alpha > 0
      ? [entry(338, 3, alpha, Buffer.concat(Array.from({ length: alpha }, () => short(2))))]
      : []),
    entry(339, 3, channels, perChannel(float ? 3 : 1)),
  ];
  return Buffer.concat([
    Buffer.from(big ? "MM" : "II"),
    short(42),
    long(extraAt + extraLength),
    pixels,
    Buffer.alloc(pixels.length & 1),
    ...extra,
    short(entries.length),
    ...entries,
    long(0),
  ]);
}

/** A PNG by hand from the PNG specification (ISO/IEC 15948): colour type 0 mono, 2 RGB, 4 mono with opacity, 6 both. */
export function makePng(
  widthPx: number,
  heightPx: number,
  bits: 8 | 16,
  colourType: 0 | 2 | 4 | 6,
  samples: readonly number[],
  chunks: readonly [type: string, data: Buffer][] = [],
): Buffer {
  const channels = { 0: 1, 2: 3, 4: 2, 6: 4 }[colourType];
  const rowBytes = (widthPx * channels * bits) / 8;
  const raw = Buffer.alloc(heightPx * (rowBytes + 1));
  samples.forEach((value, i) => {
    const row = Math.floor(i / (widthPx * channels));
    const at = row * (rowBytes + 1) + 1 + ((i % (widthPx * channels)) * bits) / 8;
    bits === 8 ? raw.writeUInt8(value, at) : raw.writeUInt16BE(value, at);
  });
  const chunk = (type: string, data: Buffer): Buffer => {
    const body = Buffer.concat([Buffer.from(type, "latin1"), data]);
    const ends = Buffer.alloc(8);
    ends.writeUInt32BE(data.length, 0);
    ends.writeUInt32BE(crc32(body), 4);
    return Buffer.concat([ends.subarray(0, 4), body, ends.subarray(4)]);
  };
  const header = Buffer.alloc(13);
  header.writeUInt32BE(widthPx, 0);
  header.writeUInt32BE(heightPx, 4);
  header[8] = bits;
  header[9] = colourType;
  return Buffer.concat([
    Buffer.from("\x89PNG\r\n\x1a\n", "latin1"),
    chunk("IHDR", header),
    ...chunks.map(([type, data]) => chunk(type, data)),
    chunk("IDAT", deflateSync(raw)),
    chunk("IEND", Buffer.alloc(0)),
  ]);
}
