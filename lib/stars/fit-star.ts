import { accumulateNormal, type PixelNoise } from "./normal-equations.ts";
import type { Profile } from "./profile.ts";
import { invertSymmetric } from "./small-matrix.ts";
import type { Stamp } from "./stamp.ts";
import { PARAMETERS, type StarShape } from "./star-model.ts";

export type { PixelNoise } from "./normal-equations.ts";

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
const mostIterations = 20;
/** Wider or narrower than it was started by this factor, it has left for a nebula, a trail or a pixel: given up. */
const farthestWidth = 4;
/** After a step below this share of its uncertainty what is left to go is its square: a fiftieth of the uncertainty. */
const settledShare = 0.15;

/** Work arrays, kept between stars. */
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
    state = accumulateNormal(stamp, profile, noise, star, normal, gradient);
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
    if (!takeStep(star) || hasLeft(star, start)) {
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

function hasLeft(star: StarShape, start: StarShape): boolean {
  const areas = (start.qxx * start.qyy - start.qxy * start.qxy) / (star.qxx * star.qyy - star.qxy * star.qxy);
  // The determinants are of inverse squares of widths, squared.
  return areas > farthestWidth ** 4 || areas < farthestWidth ** -4;
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
