import { type FitJob, makeFitter } from "./fit-stars.ts";
import { chooseNodes, PARAMETERS, pickNodes, readPixelLight } from "./star-model.ts";
import type { StarTask } from "./star-task.ts";

/** Residuals are looked at where a star's light is this many times the background's noise or more. */
const leastSignalSigmas = 8;
/** Brighter than this the profile's own error outgrows the photons' noise. */
const mostSignalSigmas = 60;
/** Median of the square of a unit normal deviate. */
const medianSquare = 0.4549364;
/** Cameras lie between these, e-/ADU; common practice, no source. */
const plausible = { lowest: 0.02, highest: 20 };
const fewestPixels = 200;

/** For each pixel in the flanks of the stars, what its residual says of ADU per electron. */
export const gainTask: StarTask<FitJob, Float64Array> = {
  name: "estimate-gain",
  run: (job) => {
    const found: number[] = [];
    const fitter = makeFitter(job);
    for (let i = 0; i < job.starts.length / PARAMETERS; i++) {
      const { fit, stamp, profile, noise } = fitter(i);
      if (!fit.converged) continue;
      const { star } = fit;
      const nodes = chooseNodes(star);
      for (let k = 0; k < stamp.count; k++) {
        const nodesHere = pickNodes(nodes, star, stamp.x[k], stamp.y[k]);
        const signal = star.peak * readPixelLight(star, profile, nodesHere, stamp.x[k], stamp.y[k]);
        const sigmas = signal / noise.sigmaAdu;
        if (sigmas < leastSignalSigmas || sigmas > mostSignalSigmas) continue;
        const residual = stamp.value[k] - star.background - signal;
        found.push(
          (residual * residual) / medianSquare / signal - (noise.sigmaAdu * noise.sigmaAdu) / signal,
        );
      }
    }
    return Float64Array.from(found);
  },
};

/**
 * Electrons per ADU from the scatter of pixels about fitted stars: photon noise grows with the square root of the
 * light, so residual squared over light is the reciprocal of the gain (the photon-transfer relation, Janesick 2001,
 * Scientific Charge-Coupled Devices, ch. 2; from memory). Good to about 15 %; the profile's error makes it read low.
 * NaN where too few pixels tell.
 */
export function readGain(parts: readonly Float64Array[]): number {
  const all = Float64Array.from(parts.flatMap((part) => [...part])).sort();
  if (all.length < fewestPixels) return Number.NaN;
  // The reading of a single pixel is skewed: the median of (residual^2 / median of chi-square) is that of the mean.
  const perElectron = all[all.length >> 1];
  if (!(perElectron > 0)) return Number.NaN;
  return Math.min(plausible.highest, Math.max(plausible.lowest, 1 / perElectron));
}
