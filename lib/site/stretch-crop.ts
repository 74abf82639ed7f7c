/** How strongly faint light is lifted against the peak (chosen by eye so that wings at 2 % of the peak stay visible). */
const lift = 20;

/** What the stretch does, as the page states it. */
export const stretchWords =
  "A star’s cut-out runs from its own background (paper) to its own brightest pixel (ink) on an inverse hyperbolic sine scale, so shapes compare but brightness does not; every pixel is drawn as a square.";

function findMedian(values: number[]): number {
  const sorted = values.sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? 0;
}

/**
 * A cut-out as a negative for the eye, 8-bit grey (255: background, 0: peak), row-major as `samples`. The background is
 * the median of the border pixels. `samples`: width x height, any linear unit; a flat cut-out comes back as plain paper.
 */
export function stretchCrop(samples: ArrayLike<number>, width: number, height: number): Uint8Array {
  const border: number[] = [];
  let peak = Number.NEGATIVE_INFINITY;
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const value = samples[y * width + x];
      if (value > peak) peak = value;
      if (x === 0 || y === 0 || x === width - 1 || y === height - 1) border.push(value);
    }
  }
  const background = findMedian(border);
  const range = peak - background;
  const full = Math.asinh(lift);
  const grey = new Uint8Array(width * height).fill(255);
  if (!(range > 0)) return grey;
  for (let k = 0; k < grey.length; k++) {
    const t = (samples[k] - background) / range;
    if (t > 0) grey[k] = Math.round(255 * (1 - Math.asinh(lift * t) / full));
  }
  return grey;
}
