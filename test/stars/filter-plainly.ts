import { makeGaussianKernel } from "../../lib/stars/matched-filter.ts";
import type { SamplePlane } from "../../lib/stars/samples.ts";

/**
 * Slow plain twin of the matched filter: whole image, two-dimensional sum over every pixel, mask by mask. Even sky
 * and no blocks. NaN where a quarter of the kernel's power is not there.
 */
export function filterPlainly(plane: SamplePlane, skyAdu: number, fwhmPx: number): Float64Array {
  const { half, radius } = makeGaussianKernel(fwhmPx);
  const { widthPx, heightPx, samples, sites } = plane;
  const answer = new Float64Array(widthPx * heightPx);
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      let sum = 0;
      let power = 0;
      for (let dy = -radius; dy <= radius; dy++) {
        for (let dx = -radius; dx <= radius; dx++) {
          const [column, row] = [x + dx, y + dy];
          if (column < 0 || row < 0 || column >= widthPx || row >= heightPx) continue;
          if (!sites[(column & 1) + 2 * (row & 1)]) continue;
          const value = samples[row * widthPx + column];
          if (!Number.isFinite(value)) continue;
          const weight = half[Math.abs(dx)] * half[Math.abs(dy)];
          sum += weight * (value - skyAdu);
          power += weight * weight;
        }
      }
      answer[y * widthPx + x] = sum / Math.sqrt(power);
    }
  }
  return answer;
}

/** Pixels of the plain answer that exceed the level and all their neighbours, inside a margin. */
export function findPlainMaxima(answer: Float64Array, widthPx: number, heightPx: number, level: number) {
  const found: { x: number; y: number; answer: number }[] = [];
  for (let y = 0; y < heightPx; y++) {
    for (let x = 0; x < widthPx; x++) {
      const value = answer[y * widthPx + x];
      if (!(value > level)) continue;
      let highest = true;
      for (let dy = -1; dy <= 1; dy++) {
        for (let dx = -1; dx <= 1; dx++) {
          const [column, row] = [x + dx, y + dy];
          if ((dx === 0 && dy === 0) || column < 0 || row < 0 || column >= widthPx || row >= heightPx)
            continue;
          if (answer[row * widthPx + column] >= value) highest = false;
        }
      }
      if (highest) found.push({ x, y, answer: value });
    }
  }
  return found;
}
