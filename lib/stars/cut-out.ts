import type { SamplePlane } from "./samples.ts";

/** A square of 16-bit samples; `adu = zero + step * sample`. Exact where the frame itself is 16-bit. */
export interface CutOut {
  sidePx: number;
  samples: Uint16Array;
  zeroAdu: number;
  stepAdu: number;
}

/** Mean of the channel's samples among the eight around a pixel that is not the channel's, for the eye only. */
function fillFromNeighbours(plane: SamplePlane, x: number, y: number): number {
  let [sum, count] = [0, 0];
  for (let dy = -1; dy <= 1; dy++) {
    for (let dx = -1; dx <= 1; dx++) {
      const value = readSample(plane, x + dx, y + dy);
      if (Number.isNaN(value)) continue;
      const weight = dx === 0 || dy === 0 ? 2 : 1;
      sum += weight * value;
      count += weight;
    }
  }
  return count === 0 ? Number.NaN : sum / count;
}

function readSample(plane: SamplePlane, x: number, y: number): number {
  if (x < 0 || y < 0 || x >= plane.widthPx || y >= plane.heightPx) return Number.NaN;
  return plane.sites[(x & 1) + 2 * (y & 1)] ? plane.samples[y * plane.widthPx + x] : Number.NaN;
}

/**
 * Cuts a square of `sidePx` (even) about a pixel out of a plane. Samples of a 16-bit frame are kept as they are; pixels
 * of other colours of a colour-filter pattern are filled from the channel's neighbours (for pictures, never measured);
 * floats are spread over 16 bits between the square's lowest and highest value. Missing samples become the lowest.
 */
export function cutOut(plane: SamplePlane, xPx: number, yPx: number, sidePx: number): CutOut {
  const values = new Float64Array(sidePx * sidePx);
  for (let j = 0; j < sidePx; j++) {
    for (let i = 0; i < sidePx; i++) {
      const [x, y] = [xPx - sidePx / 2 + i, yPx - sidePx / 2 + j];
      const own = readSample(plane, x, y);
      values[j * sidePx + i] = Number.isNaN(own) ? fillFromNeighbours(plane, x, y) : own;
    }
  }
  const known = values.filter((value) => Number.isFinite(value));
  const lowest = known.reduce((least, value) => Math.min(least, value), Number.POSITIVE_INFINITY);
  const highest = known.reduce((most, value) => Math.max(most, value), Number.NEGATIVE_INFINITY);
  const whole = plane.samples instanceof Uint16Array;
  const zeroAdu = whole || known.length === 0 ? 0 : lowest;
  const stepAdu = whole || !(highest > lowest) ? 1 : (highest - lowest) / 65535;
  const samples = Uint16Array.from(values, (value) =>
    Math.round(((Number.isFinite(value) ? value : lowest) - zeroAdu) / stepAdu),
  );
  return { sidePx, samples, zeroAdu, stepAdu };
}
