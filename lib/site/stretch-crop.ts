/** How strongly faint light is lifted against the peak (chosen by eye so that wings at 2 % of the peak stay visible). */
const lift = 20;

/** Enlargement of a cut-out's pixels, so that each stays a square on the page. */
export const cropEnlargement = 4;

/** What the stretch does, as the page states it. */
export const stretchWords =
  "Each cut-out runs from its own background (paper) to its own brightest pixel (ink) on an inverse hyperbolic sine scale, so shapes compare but brightness does not; every pixel is drawn as a square.";

function findMedian(values: number[]): number {
  const sorted = values.sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? 0;
}

/**
 * A cut-out as a negative for the eye, 8-bit grey (255: background, 0: peak), enlarged by whole pixels.
 * The background is the median of the border pixels. Shapes: `samples` row-major, width x height, any linear unit;
 * a flat cut-out comes back as plain paper.
 */
export function stretchCrop(
  samples: ArrayLike<number>,
  width: number,
  height: number,
): { grey: Uint8Array; width: number; height: number } {
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
  const wide = width * cropEnlargement;
  const high = height * cropEnlargement;
  const grey = new Uint8Array(wide * high).fill(255);
  if (!(range > 0)) return { grey, width: wide, height: high };
  for (let y = 0; y < height; y++) {
    const from = y * cropEnlargement * wide;
    for (let x = 0; x < width; x++) {
      const t = (samples[y * width + x] - background) / range;
      const ink = t > 0 ? Math.asinh(lift * t) / full : 0;
      grey.fill(Math.round(255 * (1 - ink)), from + x * cropEnlargement, from + (x + 1) * cropEnlargement);
    }
    for (let k = 1; k < cropEnlargement; k++) grey.copyWithin(from + k * wide, from, from + wide);
  }
  return { grey, width: wide, height: high };
}
