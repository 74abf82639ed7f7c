import type { SamplePlane } from "../stars/samples.ts";
import { type AxisWeights, makeAxisWeights, REACH_PX } from "./area-weights.ts";

/** A plane on a coarser grid that shows the same field about the same middle. */
export interface ResampledPlane {
  widthPx: number;
  heightPx: number;
  /** Light in each pixel: in an even field the plane's values times the square of the ratio. */
  samples: Float32Array;
}

/** A value counts as reached by a saturated sample that has at least this share of the largest weight. */
const reachedShare = 0.05;
/** Pixels at each edge that stay out, so that no neighbourhood leaves the frame; two more for rounding. */
const marginPx = REACH_PX + 2;

/** Pixels of the coarser grid along an axis of `sizePx` samples; even, so that 2 x 2 blocks are whole. */
export function countCoarse(sizePx: number, pixelRatio: number): number {
  return Math.max(0, 2 * Math.floor((sizePx - 2 * marginPx) / pixelRatio / 2));
}

function makeAxis(sizePx: number, pixelRatio: number): AxisWeights {
  const count = countCoarse(sizePx, pixelRatio);
  return makeAxisWeights(sizePx, (sizePx - 1) / 2 - ((count - 1) / 2) * pixelRatio, count, pixelRatio);
}

/**
 * A plane with samples at every pixel, brought to a grid of pixels `pixelRatio` (1 or more) times as wide by what light
 * falls into each of them. The coarser pixel's own integral is in the values, the finer one's is not: what is measured
 * afterwards is what a camera of such pixels would have seen, but for the noise, which neighbours share a little.
 *
 * Values that a saturated sample reaches become `saturationAdu` times the ratio squared; those near NaN become NaN. Light
 * above half a cycle per px of the finer grid is lost to either grid: stars narrower than 2 px there come out too wide.
 *
 * @param saturationAdu - of the plane; null: nothing is saturated
 * @throws RangeError where the plane is too small
 */
export function resamplePlane(
  plane: SamplePlane,
  pixelRatio: number,
  saturationAdu: number | null,
): ResampledPlane {
  const across = makeAxis(plane.widthPx, pixelRatio);
  const down = makeAxis(plane.heightPx, pixelRatio);
  if (across.count < 2 || down.count < 2) throw new RangeError("the plane is too small for a coarser grid");
  const samples = new Float32Array(new SharedArrayBuffer(4 * across.count * down.count));
  const limit = saturationAdu ?? Number.POSITIVE_INFINITY;
  const level = limit * pixelRatio ** 2;
  const kept = down.taps + 1;
  // Rows are resampled once each, as they are needed.
  const rows = Array.from({ length: kept }, () => new Float32Array(across.count));
  const held = new Int32Array(kept).fill(-1);
  for (let row = 0; row < down.count; row++) {
    const target = samples.subarray(row * across.count, (row + 1) * across.count);
    const weights = down.weights.subarray(row * down.taps, (row + 1) * down.taps);
    const least = reachedShare * Math.max(...weights);
    for (let tap = 0; tap < down.taps; tap++) {
      const line = down.first[row] + tap;
      const slot = line % kept;
      if (held[slot] !== line) {
        resampleRow(plane, line, across, limit, rows[slot]);
        held[slot] = line;
      }
      addRow(target, rows[slot], weights[tap], Math.abs(weights[tap]) >= least);
    }
    for (let column = 0; column < target.length; column++)
      if (target[column] >= level) target[column] = level;
  }
  return { widthPx: across.count, heightPx: down.count, samples };
}

/** Marks a value that a saturated sample reaches: above anything light adds up to. */
const SATURATED = Number.POSITIVE_INFINITY;

function addRow(target: Float32Array, source: Float32Array, weight: number, reaches: boolean): void {
  for (let column = 0; column < target.length; column++) {
    const value = source[column];
    if (value !== SATURATED) target[column] += weight * value;
    else if (reaches) target[column] = SATURATED;
  }
}

function resampleRow(
  plane: SamplePlane,
  row: number,
  { count, taps, first, weights }: AxisWeights,
  limit: number,
  into: Float32Array,
): void {
  const { samples, widthPx } = plane;
  const start = row * widthPx;
  for (let column = 0; column < count; column++) {
    const at = start + first[column];
    const weightAt = column * taps;
    let sum = 0;
    let highest = 0;
    for (let tap = 0; tap < taps; tap++) {
      const value = samples[at + tap];
      sum += weights[weightAt + tap] * value;
      if (value >= limit && weights[weightAt + tap] > highest) highest = weights[weightAt + tap];
    }
    into[column] = highest > reachedShare ? SATURATED : sum;
  }
}
