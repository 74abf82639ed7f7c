import FFT from "fft.js";

/**
 * Fourier transforms of square images that are mostly zero on one side and only partly wanted on the other. Complex
 * arrays hold real and imaginary parts interleaved. Every intermediate is stored so that lines are contiguous: strides
 * of a power of two would have each column fight for the same cache lines.
 */

interface LineTransform {
  transform(out: Float64Array, data: Float64Array): void;
  inverseTransform(out: Float64Array, data: Float64Array): void;
}

interface Line {
  fft: LineTransform;
  from: Float64Array;
  to: Float64Array;
}

const lines = new Map<number, Line>();

/** Tables and buffers for lines of a length; kept, being costly. */
function prepareLine(side: number): Line {
  let line = lines.get(side);
  if (line === undefined) {
    line = { fft: new FFT(side), from: new Float64Array(2 * side), to: new Float64Array(2 * side) };
    lines.set(side, line);
  }
  return line;
}

/**
 * From a small square of samples about zero to an image: out(x, y) = sum over i, j from -half to half of
 * input(i, j) exp(+2 pi i (i x + j y) / side), for x and y from `first` to `first + count - 1` (negative values count
 * from the end). `input` has rows j and columns i; the result has rows y and columns x.
 */
export function expandSquare(
  input: Float64Array,
  half: number,
  side: number,
  first: number,
  count: number,
): Float64Array {
  const { fft, from, to } = prepareLine(side);
  const width = 2 * half + 1;
  const between = new Float64Array(2 * count * width);
  const output = new Float64Array(2 * count * count);
  // Along y first, one column i after the other, then along x: the result then comes out in rows.
  for (let i = 0; i < width; i++) {
    from.fill(0);
    for (let j = 0; j < width; j++) {
      const at = 2 * ((j - half + side) % side);
      from[at] = input[2 * (j * width + i)];
      from[at + 1] = input[2 * (j * width + i) + 1];
    }
    fft.inverseTransform(to, from);
    for (let y = 0; y < count; y++) {
      const at = 2 * ((first + y + side) % side);
      between[2 * (y * width + i)] = to[at];
      between[2 * (y * width + i) + 1] = to[at + 1];
    }
  }
  // The library's inverse divides by the length, this transform does not.
  const scale = side * side;
  for (let y = 0; y < count; y++) {
    from.fill(0);
    for (let i = 0; i < width; i++) {
      const at = 2 * ((i - half + side) % side);
      from[at] = between[2 * (y * width + i)];
      from[at + 1] = between[2 * (y * width + i) + 1];
    }
    fft.inverseTransform(to, from);
    for (let x = 0; x < count; x++) {
      const at = 2 * ((first + x + side) % side);
      output[2 * (y * count + x)] = to[at] * scale;
      output[2 * (y * count + x) + 1] = to[at + 1] * scale;
    }
  }
  return output;
}

/**
 * From a real image back to the small square of its lowest frequencies:
 * out(i, j) = sum over x, y of image(x, y) exp(-2 pi i (i x + j y) / side), i and j from -reach to reach. Two real rows
 * go through one complex line, and only half of the frequencies are computed: the others are their conjugates.
 */
export function contractImage(image: Float64Array, side: number, reach: number): Float64Array {
  const { fft, from, to } = prepareLine(side);
  const columns = reach + 1;
  const between = new Float64Array(2 * columns * side);
  for (let y = 0; y < side; y += 2) {
    for (let x = 0; x < side; x++) {
      from[2 * x] = image[y * side + x];
      from[2 * x + 1] = image[(y + 1) * side + x];
    }
    fft.transform(to, from);
    for (let i = 0; i < columns; i++) {
      const mirror = 2 * ((side - i) % side);
      const at = 2 * (i * side + y);
      between[at] = (to[2 * i] + to[mirror]) / 2;
      between[at + 1] = (to[2 * i + 1] - to[mirror + 1]) / 2;
      between[at + 2] = (to[2 * i + 1] + to[mirror + 1]) / 2;
      between[at + 3] = (to[mirror] - to[2 * i]) / 2;
    }
  }
  const width = 2 * reach + 1;
  const output = new Float64Array(2 * width * width);
  for (let i = 0; i < columns; i++) {
    from.set(between.subarray(2 * i * side, 2 * (i + 1) * side));
    fft.transform(to, from);
    for (let j = -reach; j <= reach; j++) {
      const at = 2 * ((j + side) % side);
      const here = 2 * ((j + reach) * width + reach + i);
      output[here] = to[at];
      output[here + 1] = to[at + 1];
      const there = 2 * ((reach - j) * width + reach - i);
      output[there] = to[at];
      output[there + 1] = -to[at + 1];
    }
  }
  return output;
}
