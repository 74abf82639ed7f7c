import type { Profile } from "./profile.ts";
import { invertSymmetric } from "./small-matrix.ts";
import type { Stamp } from "./stamp.ts";
import { chooseNodes, integratePixel, PARAMETERS, pickNodes, type StarShape } from "./star-model.ts";

/** The noise a pixel has: `sigma` where there is no star (sky and read-out), and the star's own photons. */
export interface PixelNoise {
  /** One sigma of the background, ADU. */
  sigmaAdu: number;
  /** Electrons per ADU; Infinity where a star's own photons are to be left out. */
  gainElectronsPerAdu: number;
  /** How far the local background may lie from the map's, one sigma, ADU; Infinity: it is free. */
  backgroundSigmaAdu: number;
}

export interface StarFit {
  star: StarShape;
  /** Covariance of x, y, peak, qxx, qxy, qyy, background; row-major 7 x 7; from the Fisher matrix at the solution. */
  covariance: Float64Array;
  /** Chi-square over degrees of freedom. */
  chi2: number;
  /** Light over its uncertainty with the shape known. */
  snr: number;
  converged: boolean;
}

const n = PARAMETERS;
const mostIterations = 30;
/** A step below this share of its uncertainty changes nothing that could be measured. */
const settledShare = 0.04;
/** Pixels further off than this, in sigmas, are something else's light (a hot pixel, an unseen star), and count less. */
const outlierSquared = 5 ** 2;
/** By how much of its own light the profile may be wrong in a pixel before that is held against the pixel. */
const profileDoubt = 0.25;

/** Work arrays, kept between stars. */
const sums = new Float64Array(6);
const derivative = new Float64Array(n);
const normal = new Float64Array(n * n);
const factor = new Float64Array(n * n);
const gradient = new Float64Array(n);
const step = new Float64Array(n);

/**
 * Fits a pixel-integrated elliptical star to a stamp by maximum likelihood (Fisher scoring: least squares whose
 * weights are the variance the model itself predicts, renewed at each step). For Poisson light on a background this
 * has the same solution as the Poisson likelihood.
 * Source: McCullagh & Nelder 1989, Generalized Linear Models, section 2.5 (iterative weighted least squares).
 *
 * `start` is not changed. Saturated or missing pixels are simply not in the stamp. A fit that does not settle has
 * `converged` false and the last values tried.
 */
export function fitStar(stamp: Stamp, profile: Profile, noise: PixelNoise, start: StarShape): StarFit {
  const star = { ...start };
  const priorWeight =
    noise.backgroundSigmaAdu === Number.POSITIVE_INFINITY ? 0 : noise.backgroundSigmaAdu ** -2;
  let converged = false;
  let state = { chi2: Number.NaN, information: 0 };
  for (let iteration = 0; iteration < mostIterations && !converged; iteration++) {
    state = accumulateNormal(stamp, profile, noise, star);
    normal[48] += priorWeight;
    gradient[6] -= star.background * priorWeight;
    if (!invertSymmetric(normal, n, factor)) break;
    converged = true;
    for (let i = 0; i < n; i++) {
      let sum = 0;
      for (let j = 0; j < n; j++) sum += normal[i * n + j] * gradient[j];
      step[i] = sum;
      if (!(Math.abs(sum) < settledShare * Math.sqrt(normal[i * n + i]))) converged = false;
    }
    if (!takeStep(star)) {
      converged = false;
      break;
    }
  }
  return {
    star,
    covariance: normal.slice(),
    chi2: state.chi2 / Math.max(stamp.count - n, 1),
    snr: star.peak * Math.sqrt(state.information),
    converged,
  };
}

/** Fills `normal` and `gradient` for the star as it stands; yields chi-square and the information on the peak alone. */
function accumulateNormal(
  stamp: Stamp,
  profile: Profile,
  noise: PixelNoise,
  star: StarShape,
): { chi2: number; information: number } {
  const nodes = chooseNodes(star);
  const variance0 = noise.sigmaAdu * noise.sigmaAdu;
  const perElectron = 1 / noise.gainElectronsPerAdu;
  const { peak, background } = star;
  normal.fill(0);
  gradient.fill(0);
  let chi2 = 0;
  let information = 0;
  for (let k = 0; k < stamp.count; k++) {
    const px = stamp.x[k];
    const py = stamp.y[k];
    const quadrature = pickNodes(nodes, star, px, py);
    integratePixel(star, profile, quadrature, px, py, sums);
    const light = sums[0];
    const residual = stamp.value[k] - background - peak * light;
    let weight = 1 / (variance0 + Math.max(peak * light, 0) * perElectron);
    let off = residual * residual * weight;
    if (off > outlierSquared) {
      const doubt = profileDoubt * peak * light;
      const stranger = (residual * residual) / (1 / weight + doubt * doubt);
      if (stranger > outlierSquared) {
        // Its pull falls as it lies further off, and it is no mark against the star.
        weight *= outlierSquared / off;
        off = 1;
      }
    }
    chi2 += off;
    information += light * light * weight;
    derivative[0] = peak * sums[1];
    derivative[1] = peak * sums[2];
    derivative[2] = light;
    derivative[3] = peak * sums[3];
    derivative[4] = peak * sums[4];
    derivative[5] = peak * sums[5];
    derivative[6] = 1;
    for (let i = 0; i < n; i++) {
      const d = weight * derivative[i];
      gradient[i] += d * residual;
      for (let j = 0; j <= i; j++) normal[i * n + j] += d * derivative[j];
    }
  }
  for (let i = 0; i < n; i++) for (let j = 0; j < i; j++) normal[j * n + i] = normal[i * n + j];
  return { chi2, information };
}

/**
 * Adds the step to the star, shortened so that the centre moves by half a half-width at most and the ellipse stays an
 * ellipse whose area changes by less than a factor of 2.5: far from the solution the quadratic picture is not to be
 * trusted. `false` when no shortening helps.
 */
function takeStep(star: StarShape): boolean {
  const area = star.qxx * star.qyy - star.qxy * star.qxy;
  const halfWidth = area ** -0.25;
  let share = Math.min(1, (0.5 * halfWidth) / Math.hypot(step[0], step[1]));
  for (let attempt = 0; attempt < 12; attempt++, share /= 2) {
    const qxx = star.qxx + share * step[3];
    const qxy = star.qxy + share * step[4];
    const qyy = star.qyy + share * step[5];
    const newArea = qxx * qyy - qxy * qxy;
    if (!(qxx > 0 && qyy > 0 && newArea > 0.4 * area && newArea < 2.5 * area)) continue;
    const peak = star.peak + share * step[2];
    if (!(peak > 0)) continue;
    star.x += share * step[0];
    star.y += share * step[1];
    star.peak = peak;
    star.qxx = qxx;
    star.qxy = qxy;
    star.qyy = qyy;
    star.background += share * step[6];
    return true;
  }
  return false;
}
