import { gunzipSync } from "node:zlib";
import type { TilePacking } from "./fits-tile-plan.ts";
import { isRiceSize, PackedDataError, unpackRice } from "./rice.ts";

/** Undoes the shuffle of GZIP_2: all first bytes of the values, then all second bytes, and so on. */
export function unshuffleBytes(shuffled: Uint8Array, bytesPerValue: number): Uint8Array {
  const count = shuffled.length / bytesPerValue;
  const bytes = new Uint8Array(shuffled.length);
  for (let byteIndex = 0; byteIndex < bytesPerValue; byteIndex++) {
    const start = byteIndex * count;
    for (let i = 0; i < count; i++) bytes[i * bytesPerValue + byteIndex] = shuffled[start + i];
  }
  return bytes;
}

/** Gzip with a bound: a tile never unpacks to more than 8 bytes a value. */
function unzip(packed: Uint8Array, count: number): Uint8Array {
  try {
    return gunzipSync(packed, { maxOutputLength: 8 * count });
  } catch (cause) {
    throw new PackedDataError("damaged gzip data", { cause });
  }
}

/** Big-endian integers of 1 (unsigned), 2, 4 or 8 bytes as numbers. */
function readIntegers(bytes: Uint8Array, count: number): Int32Array | BigInt64Array {
  const bytesPerValue = bytes.length / count;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytesPerValue === 8) {
    const wide = new BigInt64Array(count);
    for (let i = 0; i < count; i++) wide[i] = view.getBigInt64(8 * i);
    return wide;
  }
  const values = new Int32Array(count);
  if (bytesPerValue === 1) values.set(bytes);
  else if (bytesPerValue === 2) for (let i = 0; i < count; i++) values[i] = view.getInt16(2 * i);
  else if (bytesPerValue === 4) for (let i = 0; i < count; i++) values[i] = view.getInt32(4 * i);
  else throw new PackedDataError(`${bytes.length} bytes for ${count} values`);
  return values;
}

/** Big-endian floats of 4 or 8 bytes. */
function readFloats(bytes: Uint8Array, count: number): Float32Array | Float64Array {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.length === 4 * count) {
    const values = new Float32Array(count);
    for (let i = 0; i < count; i++) values[i] = view.getFloat32(4 * i);
    return values;
  }
  if (bytes.length !== 8 * count) throw new PackedDataError(`${bytes.length} bytes for ${count} values`);
  const values = new Float64Array(count);
  for (let i = 0; i < count; i++) values[i] = view.getFloat64(8 * i);
  return values;
}

/** Integers of one packed tile. Throws `PackedDataError`. */
export function unpackIntegers(
  packed: Uint8Array,
  count: number,
  packing: TilePacking,
  parameters: ReadonlyMap<string, number>,
): Int32Array | BigInt64Array {
  if (packing === "RICE_1") {
    const bytesPerValue = parameters.get("BYTEPIX") ?? 4;
    const blockSize = parameters.get("BLOCKSIZE") ?? 32;
    if (!isRiceSize(bytesPerValue)) throw new PackedDataError(`BYTEPIX of ${bytesPerValue}`);
    if (!Number.isInteger(blockSize) || blockSize < 1) throw new PackedDataError(`BLOCKSIZE of ${blockSize}`);
    return unpackRice(packed, count, bytesPerValue, blockSize);
  }
  return readIntegers(unpackBytes(packed, count, packing), count);
}

/** Floats of one tile that was packed without loss. Throws `PackedDataError`. */
export function unpackFloats(
  packed: Uint8Array,
  count: number,
  packing: Exclude<TilePacking, "RICE_1">,
): Float32Array | Float64Array {
  return readFloats(unpackBytes(packed, count, packing), count);
}

function unpackBytes(packed: Uint8Array, count: number, packing: Exclude<TilePacking, "RICE_1">): Uint8Array {
  const bytes = packing === "NOCOMPRESS" ? packed : unzip(packed, count);
  const bytesPerValue = bytes.length / count;
  if (!Number.isInteger(bytesPerValue)) {
    throw new PackedDataError(`${bytes.length} bytes for ${count} values`);
  }
  return packing === "GZIP_2" ? unshuffleBytes(bytes, bytesPerValue) : bytes;
}
