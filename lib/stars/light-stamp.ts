import type { SamplePlane } from "./samples.ts";

/** A square of pixels about an object. */
export interface LightStamp {
  /** Pixel of the stamp's middle. */
  x: number;
  y: number;
  radius: number;
  /** Light, sky removed, row-major; NaN: no sample of this plane. */
  light: Float64Array;
}

/** Cuts (2 radius + 1)^2 pixels about (x, y) out of a plane. */
export function cutLightStamp(
  plane: SamplePlane,
  x: number,
  y: number,
  radius: number,
  sky: number,
): LightStamp {
  const side = 2 * radius + 1;
  const light = new Float64Array(side * side).fill(Number.NaN);
  for (let dy = -radius; dy <= radius; dy++) {
    const row = y + dy;
    if (row < 0 || row >= plane.heightPx) continue;
    for (let dx = -radius; dx <= radius; dx++) {
      const column = x + dx;
      if (column < 0 || column >= plane.widthPx || !plane.sites[(column & 1) + 2 * (row & 1)]) continue;
      const value = plane.samples[row * plane.widthPx + column] - sky;
      if (value - value === 0) light[(dy + radius) * side + dx + radius] = value;
    }
  }
  return { x, y, radius, light };
}

/** Takes the pixels out that lie nearer to another object, whose light would be laid to this one's charge. */
export function leaveToNeighbour(
  stamp: LightStamp,
  x: number,
  y: number,
  otherX: number,
  otherY: number,
): void {
  const { radius, light } = stamp;
  const side = 2 * radius + 1;
  for (let k = 0; k < light.length; k++) {
    const column = stamp.x + (k % side) - radius;
    const row = stamp.y + Math.floor(k / side) - radius;
    const own = (column - x) ** 2 + (row - y) ** 2;
    if ((column - otherX) ** 2 + (row - otherY) ** 2 < own) light[k] = Number.NaN;
  }
}
