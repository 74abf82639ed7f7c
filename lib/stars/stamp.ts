import type { SamplePlane } from "./samples.ts";

/** The pixels under one star, gathered once for a fit. Reused from star to star; only the first `count` entries count. */
export interface Stamp {
  count: number;
  x: Float64Array;
  y: Float64Array;
  /** Sample minus the map's background, ADU. */
  value: Float64Array;
  /** Pixels under the star that could not be used: off the frame, not finite, saturated. */
  missing: number;
  /** Of those, how many were saturated. */
  saturated: number;
}

export function makeStamp(largestRadiusPx: number): Stamp {
  const size = (2 * Math.ceil(largestRadiusPx) + 3) ** 2;
  return {
    count: 0,
    x: new Float64Array(size),
    y: new Float64Array(size),
    value: new Float64Array(size),
    missing: 0,
    saturated: 0,
  };
}

/**
 * Gathers the channel's own pixels within `radiusPx` of (x, y) into `stamp`, `background` taken off.
 * Pixels off the frame, not finite or at `saturationAdu` and above are left out and counted.
 */
export function gatherStamp(
  stamp: Stamp,
  plane: SamplePlane,
  x: number,
  y: number,
  radiusPx: number,
  background: number,
  saturationAdu: number,
): void {
  const { samples, sites, widthPx, heightPx } = plane;
  const x0 = Math.ceil(x - radiusPx);
  const x1 = Math.floor(x + radiusPx);
  const y0 = Math.ceil(y - radiusPx);
  const y1 = Math.floor(y + radiusPx);
  const reach = radiusPx * radiusPx;
  let count = 0;
  stamp.missing = 0;
  stamp.saturated = 0;
  for (let py = y0; py <= y1; py++) {
    const dy = py - y;
    const phase = 2 * (py & 1);
    for (let px = x0; px <= x1; px++) {
      const dx = px - x;
      if (dx * dx + dy * dy > reach || !sites[(px & 1) + phase]) continue;
      if (px < 0 || py < 0 || px >= widthPx || py >= heightPx) {
        stamp.missing++;
        continue;
      }
      const sample = samples[py * widthPx + px];
      if (!(sample < saturationAdu)) {
        stamp.missing++;
        if (sample >= saturationAdu) stamp.saturated++;
        continue;
      }
      stamp.x[count] = px;
      stamp.y[count] = py;
      stamp.value[count] = sample - background;
      count++;
    }
  }
  stamp.count = count;
}
