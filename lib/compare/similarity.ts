/** Turns, scales and shifts the plane: w = (real + i imaginary) z + (shiftX + i shiftY). */
export interface Similarity {
  real: number;
  imaginary: number;
  shiftX: number;
  shiftY: number;
}

export function moveBySimilarity(map: Similarity, x: number, y: number): [number, number] {
  return [map.real * x - map.imaginary * y + map.shiftX, map.imaginary * x + map.real * y + map.shiftY];
}

/**
 * The similarity that brings points nearest to their partners in the sense of least squares: with centred coordinates
 * as complex numbers, k = sum(conj(z) w) / sum(|z|^2) (the plane case of Umeyama 1991, IEEE Trans. PAMI 13:376, without
 * reflection). Null for fewer than two points, or points that all coincide.
 */
export function fitSimilarity(
  from: { x: ArrayLike<number>; y: ArrayLike<number> },
  to: { x: ArrayLike<number>; y: ArrayLike<number> },
  pairs: readonly (readonly [number, number])[],
): Similarity | null {
  const n = pairs.length;
  if (n < 2) return null;
  let [meanX, meanY, meanU, meanV] = [0, 0, 0, 0];
  for (const [i, j] of pairs) {
    meanX += from.x[i] / n;
    meanY += from.y[i] / n;
    meanU += to.x[j] / n;
    meanV += to.y[j] / n;
  }
  let [real, imaginary, spread] = [0, 0, 0];
  for (const [i, j] of pairs) {
    const [x, y] = [from.x[i] - meanX, from.y[i] - meanY];
    const [u, v] = [to.x[j] - meanU, to.y[j] - meanV];
    real += x * u + y * v;
    imaginary += x * v - y * u;
    spread += x * x + y * y;
  }
  if (!(spread > 0)) return null;
  real /= spread;
  imaginary /= spread;
  return {
    real,
    imaginary,
    shiftX: meanU - real * meanX + imaginary * meanY,
    shiftY: meanV - imaginary * meanX - real * meanY,
  };
}
