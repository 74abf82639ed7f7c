import { climbToPeak, type HalfMaximum, traceHalfMaximum } from "./half-maximum.ts";
import type { PointSpread } from "./psf.ts";

/** Weights of the cubic through samples at -1, 0, 1 and 2 for a position 0 <= f < 1 (Lagrange's formula). */
export function weighCubic(f: number): [number, number, number, number] {
  return [
    (-f * (f - 1) * (f - 2)) / 6,
    ((f + 1) * (f - 1) * (f - 2)) / 2,
    (-(f + 1) * f * (f - 2)) / 2,
    ((f + 1) * f * (f - 1)) / 6,
  ];
}

/** Value between samples of a square image by cubics along both axes; 0 outside. */
export function interpolateSquare(image: Float32Array, side: number, x: number, y: number): number {
  const [column, row] = [Math.floor(x), Math.floor(y)];
  if (!(column >= 1 && row >= 1 && column < side - 2 && row < side - 2)) return 0;
  const wx = weighCubic(x - column);
  const wy = weighCubic(y - row);
  let sum = 0;
  for (let j = 0; j < 4; j++) {
    const at = (row + j - 1) * side + column - 1;
    sum +=
      wy[j] * (wx[0] * image[at] + wx[1] * image[at + 1] + wx[2] * image[at + 2] + wx[3] * image[at + 3]);
  }
  return sum;
}

/**
 * Half-maximum contour of a star image as it falls on the sensor, before the pixel's integral. Lengths in samples,
 * positions from the square's centre, rows downwards. Null where the image is no single blob (a jump's two images).
 */
export function measurePsfTruth(psf: PointSpread): HalfMaximum | null {
  const { onSensor, side } = psf;
  let top = 0;
  for (let i = 1; i < onSensor.length; i++) if (onSensor[i] > onSensor[top]) top = i;
  const centre = side / 2;
  const sample = (x: number, y: number): number => interpolateSquare(onSensor, side, x + centre, y + centre);
  const start = { x: (top % side) - centre, y: Math.floor(top / side) - centre };
  const peak = climbToPeak(sample, start, 1);
  const bright = boundBrightHalf(onSensor, side, peak.value / 2);
  return traceHalfMaximum(sample, peak.value, bright.origin, { reach: bright.reach + 2, step: 0.5 });
}

/** Centre of the samples above a height, and how far they reach from it. */
function boundBrightHalf(
  image: Float32Array,
  side: number,
  half: number,
): { origin: { x: number; y: number }; reach: number } {
  let [count, sumX, sumY] = [0, 0, 0];
  let [left, right, upper, lower] = [side, 0, side, 0];
  for (let y = 0, at = 0; y < side; y++) {
    for (let x = 0; x < side; x++, at++) {
      if (image[at] < half) continue;
      count++;
      sumX += x;
      sumY += y;
      left = Math.min(left, x);
      right = Math.max(right, x);
      upper = Math.min(upper, y);
      lower = Math.max(lower, y);
    }
  }
  const [x, y] = [sumX / count, sumY / count];
  const reach = Math.hypot(Math.max(right - x, x - left), Math.max(lower - y, y - upper));
  return { origin: { x: x - side / 2, y: y - side / 2 }, reach };
}
