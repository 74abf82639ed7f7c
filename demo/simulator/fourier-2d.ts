import FFT from "fft.js";

/** A square complex image: row-major, real and imaginary parts interleaved, `side` a power of two. */
export interface FourierPlan {
  side: number;
  /** Transforms `data` in place, without scaling: exponent -2 pi i, or +2 pi i when `inverse`. */
  transform: (data: Float64Array, inverse: boolean, wanted?: Wanted) => void;
}

/** What may be left out: rows that hold only zeros, and columns whose result nobody reads. */
export interface Wanted {
  /** Rows that hold anything before the transform: first row (negative counts from the end) and count. */
  filled?: { first: number; count: number };
  /** Columns of the result that are wanted. */
  columns?: { first: number; count: number };
}

interface LineTransform {
  transform(out: Float64Array, data: Float64Array): void;
  inverseTransform(out: Float64Array, data: Float64Array): void;
}

/** Columns gathered in one sweep over the rows, so that a cache line is fetched once for all of them. */
const columnsAtOnce = 8;

const plans = new Map<number, FourierPlan>();

/** The plan for images of `side` x `side`; plans are kept, their tables being costly. */
export function planFourier(side: number): FourierPlan {
  const known = plans.get(side);
  if (known !== undefined) return known;
  const line: LineTransform = new FFT(side);
  const to = new Float64Array(2 * side);
  const lines = Array.from({ length: columnsAtOnce }, () => new Float64Array(2 * side));
  const run = (from: Float64Array, inverse: boolean): void => {
    if (inverse) line.inverseTransform(to, from);
    else line.transform(to, from);
  };
  const transform = (data: Float64Array, inverse: boolean, wanted: Wanted = {}): void => {
    // The library's inverse divides by the length; the plan promises none.
    const scale = inverse ? side : 1;
    const filled = wanted.filled ?? { first: 0, count: side };
    const columns = wanted.columns ?? { first: 0, count: side };
    for (let k = 0; k < filled.count; k++) {
      const row = (filled.first + k + side) % side;
      const from = data.subarray(2 * row * side, 2 * (row + 1) * side);
      run(from, inverse);
      for (let i = 0; i < 2 * side; i++) from[i] = to[i] * scale;
    }
    for (let k = 0; k < columns.count; k += columnsAtOnce) {
      const count = Math.min(columnsAtOnce, columns.count - k);
      for (let row = 0; row < side; row++) {
        for (let c = 0; c < count; c++) {
          const at = 2 * (row * side + ((columns.first + k + c + side) % side));
          lines[c][2 * row] = data[at];
          lines[c][2 * row + 1] = data[at + 1];
        }
      }
      for (let c = 0; c < count; c++) {
        run(lines[c], inverse);
        lines[c].set(to);
      }
      for (let row = 0; row < side; row++) {
        for (let c = 0; c < count; c++) {
          const at = 2 * (row * side + ((columns.first + k + c + side) % side));
          data[at] = lines[c][2 * row] * scale;
          data[at + 1] = lines[c][2 * row + 1] * scale;
        }
      }
    }
  };
  const plan: FourierPlan = { side, transform };
  plans.set(side, plan);
  return plan;
}
