import { drawIndex, type Random } from "../maths/random.ts";
import { quantile } from "../maths/statistics.ts";
import { FAULTS, type ShapeSamples } from "./field-model.ts";
import { type FieldProblem, listFaultShares } from "./field-problem.ts";
import type { FittedPoint } from "./refine-fit.ts";

const resamples = 200;

/** The measured shapes without the smooth faults that the fit has found in them: these are neither optics nor noise. */
function removeFaults(problem: FieldProblem, samples: ShapeSamples, parameters: Float64Array): Float64Array {
  const corrected = Float64Array.from(samples.shape);
  const shares = new Float64Array(FAULTS.each);
  for (let i = 0; i < samples.count.length; i++) {
    listFaultShares(samples.xMm[i] / problem.halfDiagonalMm, samples.yMm[i] / problem.halfDiagonalMm, shares);
    for (let part = 0, k: number = FAULTS.first; part < 3; part++) {
      for (let share = 0; share < FAULTS.each; share++, k++) {
        corrected[3 * i + part] -= parameters[k] * shares[share];
      }
    }
  }
  return corrected;
}

/**
 * Share of the shapes' variation over the field that the model explains, 0 to 1: one minus what is left over what there
 * was about each frame's own mean, both as squares of ln(width), e1 and e2 with the samples' noise taken off. Squares
 * are weighted by the samples' errors, as Jarvis, Schechter & Jain 2008 (arXiv 0810.0027) count their share. Samples
 * that the fit holds back as outliers count with the weight they had in it. Null where the variation does not stand
 * out from the noise.
 */
export function estimateExplained(
  problem: FieldProblem,
  point: FittedPoint,
  random: Random,
): { value: number; lo: number; hi: number } | null {
  const left: number[] = [];
  const before: number[] = [];
  let sample = 0;
  for (const { samples } of problem.frames) {
    const n = samples.count.length;
    const corrected = removeFaults(problem, samples, point.parameters);
    const [middle, weights] = [
      [0, 0, 0],
      [0, 0, 0],
    ];
    const errors = (i: number, k: number): number => samples.error[2 * i + (k === 0 ? 0 : 1)];
    // The model's own error and that of deformed stars are no noise: they count as not explained. It bounds the weights all the same.
    const floor = (k: number): number => (k === 0 ? problem.modelError.lnWidth : problem.modelError.e);
    const variance = (i: number, k: number): number => errors(i, k) ** 2 + floor(k) ** 2;
    const isOut = (i: number): boolean => {
      const at = 3 * (sample + i);
      return Math.hypot(point.residuals[at], point.residuals[at + 1], point.residuals[at + 2]) > 5;
    };
    for (let i = 0; i < n; i++) {
      if (isOut(i)) continue;
      for (let k = 0; k < 3; k++) {
        middle[k] += corrected[3 * i + k] / variance(i, k);
        weights[k] += 1 / variance(i, k);
      }
    }
    for (let i = 0; i < n; i++) {
      if (isOut(i)) continue;
      let [rest, all] = [0, 0];
      for (let k = 0; k < 3; k++) {
        const factor = k === 0 ? problem.errorFactor.lnWidth : problem.errorFactor.e;
        const noise = samples.noise[2 * i + (k === 0 ? 0 : 1)] ** 2 / variance(i, k);
        rest += (point.residuals[3 * (sample + i) + k] * factor) ** 2 - noise;
        all += (corrected[3 * i + k] - middle[k] / weights[k]) ** 2 / variance(i, k) - noise;
      }
      left.push(rest);
      before.push(all);
    }
    sample += n;
  }
  const share = (rows: (i: number) => number): number => {
    let [rest, all] = [0, 0];
    for (let i = 0; i < left.length; i++) {
      rest += left[rows(i)];
      all += before[rows(i)];
    }
    return all > 0 ? Math.min(1, Math.max(0, 1 - rest / all)) : Number.NaN;
  };
  const total = before.reduce((sum, value) => sum + value, 0);
  // Three numbers a sample with unit variance each: the sum's own scatter is sqrt(6 n). And where the shapes vary by less
  // than stars differ among themselves and the model errs, a share of that would tell nothing of the model.
  if (total < Math.max(4 * Math.sqrt(6 * before.length), 2 * before.length)) return null;
  const shares = Array.from({ length: resamples }, () => share(() => drawIndex(random, left.length)));
  return { value: share((i) => i), lo: quantile(shares, 0.025), hi: quantile(shares, 0.975) };
}
