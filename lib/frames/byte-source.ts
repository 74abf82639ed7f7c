/**
 * A file's bytes, in order and once. FITS can be read that way: header, data, header, data; so a frame needs no
 * buffer of the size of its file, and a hash can be taken of the bytes as they pass.
 */
export interface ByteSource {
  /** The file as the user would type it, for messages. */
  readonly file: string;
  /** Bytes from here to the end of the file; null where a compressed file does not tell. */
  readonly bytesLeft: number | null;
  /** Fills `into` as far as the file goes and yields how many bytes that were. */
  fill(into: Uint8Array): Promise<number>;
  /** Passes over `count` bytes as far as the file goes and yields how many that were. */
  skip(count: number): Promise<number>;
}

/** A source over bytes at hand, for what has been unpacked and for tests. */
export function makeMemorySource(file: string, bytes: Uint8Array): ByteSource {
  let position = 0;
  return {
    file,
    get bytesLeft() {
      return bytes.length - position;
    },
    async fill(into) {
      const part = bytes.subarray(position, position + into.length);
      into.set(part);
      position += part.length;
      return part.length;
    },
    async skip(count) {
      const passed = Math.min(count, bytes.length - position);
      position += passed;
      return passed;
    },
  };
}
