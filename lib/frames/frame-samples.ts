import type { ImageBlock } from "./fits-image.ts";
import type { NativeSamples } from "./fits-samples.ts";

/**
 * Gathers an image's blocks into the samples of a frame: one array per plane on shared memory, row 0 at the top.
 *
 * Whole numbers from 0 to 65535 stay 16-bit, whatever type the file keeps them in; with the first value that is none,
 * what was gathered moves to 32-bit floats. Floats hold whole numbers exactly up to 2^24; beyond, and for 64-bit
 * floats, they are rounded. Infinite values become NaN: no measure can use them.
 */
export class FrameSamples {
  readonly #widthPx: number;
  readonly #heightPx: number;
  readonly #flip: boolean;
  readonly #planes: (Uint16Array | Float32Array)[];

  constructor(widthPx: number, heightPx: number, planes: number, flipRows: boolean) {
    this.#widthPx = widthPx;
    this.#heightPx = heightPx;
    this.#flip = flipRows;
    const makePlane = (): Uint16Array => new Uint16Array(new SharedArrayBuffer(2 * widthPx * heightPx));
    this.#planes = Array.from({ length: planes }, makePlane);
  }

  /** Places one block; boxes may come in any order. */
  add(block: ImageBlock): void {
    for (let plane = 0; plane < block.planes; plane++) {
      for (let row = 0; row < block.rows; row++) {
        const start = (plane * block.rows + row) * block.columns;
        const storedRow = block.firstRow + row;
        const shownRow = this.#flip ? this.#heightPx - 1 - storedRow : storedRow;
        this.#place(
          block.firstPlane + plane,
          block.values,
          start,
          block.columns,
          shownRow * this.#widthPx + block.firstColumn,
        );
      }
    }
  }

  /** The planes in the file's order, all of one type. */
  finish(): (Uint16Array | Float32Array)[] {
    if (this.#planes.some((samples) => samples instanceof Float32Array)) {
      for (let plane = 0; plane < this.#planes.length; plane++) this.#widen(plane);
    }
    return this.#planes;
  }

  #place(plane: number, values: NativeSamples, start: number, count: number, at: number): void {
    if (values instanceof BigInt64Array || values instanceof BigUint64Array) {
      this.#place(plane, Float64Array.from(values.subarray(start, start + count), Number), 0, count, at);
      return;
    }
    let samples = this.#planes[plane];
    const row = values.subarray(start, start + count);
    if (row instanceof Uint16Array || row instanceof Uint8Array) {
      samples.set(row, at);
      return;
    }
    if (samples instanceof Uint16Array) {
      let i = 0;
      // True for whole numbers of 16 bits alone: NaN, negative, broken and larger ones differ from their low bits.
      for (; i < count && row[i] === (row[i] & 0xffff); i++) samples[at + i] = row[i];
      if (i === count) return;
      samples = this.#widen(plane);
    }
    samples.set(row, at);
    if (row instanceof Float32Array || row instanceof Float64Array) {
      for (let i = at; i < at + count; i++) {
        if (!Number.isFinite(samples[i])) samples[i] = Number.NaN;
      }
    }
  }

  /** The plane's samples as floats from here on. */
  #widen(plane: number): Float32Array {
    const samples = this.#planes[plane];
    if (samples instanceof Float32Array) return samples;
    const wide = new Float32Array(new SharedArrayBuffer(4 * samples.length));
    wide.set(samples);
    this.#planes[plane] = wide;
    return wide;
  }
}

/** True where not one sample has a value. Looks no further than the first that has. */
export function hasNoValues(samples: Uint16Array | Float32Array): boolean {
  return samples instanceof Float32Array && samples.every((value) => Number.isNaN(value));
}
