import { factorCholesky, invertCholesky, solveCholesky } from "../maths/linear.ts";
import { shared, sharedCount } from "./sweep-model.ts";
import type { ReducedFrame } from "./sweep-reduce.ts";

/**
 * Knowledge from outside the frames, as one-sigma values; zero where there is none. Most optics sit within half a
 * millimetre of the sensor's centre; the blur cone follows the focal ratio on record within about 1 % unless the caller finds
 * that it does not; gears lag by some ten micrometres (chosen).
 */
const priorSigma = [0, 0, 0, 0, 0, 0.5, 0.5, 0.012, 0, 60];

/** What a fit takes as given. */
export interface SweepKnowledge {
  /** Shared parameters held where they start. */
  fixed: ReadonlySet<number>;
  /** One sigma of ln of the cone's steepness. */
  steepness: number;
  /** Most that the frames' positions may scatter, one sigma, um. */
  positionUm: number;
}

export const steepnessOnRecord = priorSigma[shared.steepness];
/** Where the frames contradict the record. */
export const looseSteepness = 0.4;

export function weighPrior(k: number, { steepness }: SweepKnowledge): number {
  const sigma = k === shared.steepness ? steepness : priorSigma[k];
  return sigma === 0 ? 0 : 1 / sigma ** 2;
}

/** Sum over the frames with the weak knowledge added and fixed parameters held; `without` leaves one frame out. */
export function sumFrames(
  frames: readonly ReducedFrame[],
  parameters: Float64Array | null,
  known: SweepKnowledge,
  without = -1,
) {
  const matrix = new Float64Array(sharedCount * sharedCount);
  const gradient = new Float64Array(sharedCount);
  frames.forEach((frame, f) => {
    if (f === without) return;
    for (let i = 0; i < matrix.length; i++) matrix[i] += frame.matrix[i];
    for (let i = 0; i < sharedCount; i++) gradient[i] += frame.gradient[i];
  });
  for (let k = 0; k < sharedCount; k++) {
    matrix[k * sharedCount + k] += weighPrior(k, known);
    if (parameters !== null) gradient[k] -= weighPrior(k, known) * parameters[k];
    if (!known.fixed.has(k)) continue;
    for (let i = 0; i < sharedCount; i++) {
      matrix[k * sharedCount + i] = 0;
      matrix[i * sharedCount + k] = 0;
    }
    matrix[k * sharedCount + k] = 1;
    gradient[k] = 0;
  }
  return { matrix, gradient };
}

/** Huber's weights take about a twentieth of the information from normal residuals. */
const huberEfficiency = 0.95;

/**
 * Covariance of the shared parameters. Frames are the independent units of a sweep, so each is left out in turn by one
 * step of Newton's method (jackknife, Efron & Tibshirani 1993, ch. 11); the larger of its variance and that from the
 * stars' scatter counts.
 */
export function estimateCovariance(frames: readonly ReducedFrame[], known: SweepKnowledge): Float64Array {
  const size = sharedCount;
  const whole = sumFrames(frames, null, known);
  const factor = factorCholesky(whole.matrix, size);
  if (factor === null) return new Float64Array(size * size).fill(Number.NaN);
  const covariance = invertCholesky(factor, size).map((value) => value / huberEfficiency);
  const jackknife = new Float64Array(size);
  const count = frames.length;
  const moves = frames.map((frame, f) => {
    const { matrix } = sumFrames(frames, null, known, f);
    const left = factorCholesky(matrix, size);
    const right = frame.gradient.map((value, k) => (known.fixed.has(k) ? 0 : -value));
    return left === null ? new Float64Array(size) : solveCholesky(left, right);
  });
  for (let k = 0; k < size; k++) {
    const mean = moves.reduce((sum, move) => sum + move[k], 0) / count;
    jackknife[k] = ((count - 1) / count) * moves.reduce((sum, move) => sum + (move[k] - mean) ** 2, 0);
  }
  // Correlations are the stars', sizes the larger of both.
  const stretch = jackknife.map((value, k) =>
    known.fixed.has(k) ? 0 : Math.sqrt(Math.max(1, value / covariance[k * size + k])),
  );
  return covariance.map((value, at) => value * stretch[Math.floor(at / size)] * stretch[at % size]);
}
