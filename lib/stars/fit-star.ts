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
const mostIterations = 20;
/** Wider or narrower than it was started by this factor, it has left for a nebula, a trail or a pixel: given up. */
const farthestWidth = 4;
/** After a step below this share of its uncertainty what is left to go is its square: a fiftieth of the uncertainty. */
const settledShare = 0.15;
/** Pixels further off than this, in sigmas, are something else's light (a hot pixel, an unseen star), and count less. */
const outlierSquared = 5 ** 2;
/** By how much of its own light the profile may be wrong in a pixel before that is held against the pixel. */
const profileDoubt = 0.25;

/** Work arrays, kept between stars. */
const sums = new Float64Array(6);
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

/**
 * Fills `normal` and `gradient` for the star as it stands; yields chi-square and the information on the peak alone.
 * The sums stand in variables of their own, not in an array: this loop is most of a frame's measuring, and so it runs
 * twice as fast. Row i, column j of the normal matrix is n[i][j]; x, y, p(eak), q, r, s (qxx, qxy, qyy), b(ackground).
 */
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
  let xx = 0;
  let yx = 0,
    yy = 0;
  let px = 0,
    py = 0,
    pp = 0;
  let qx = 0,
    qy = 0,
    qp = 0,
    qq = 0;
  let rx = 0,
    ry = 0,
    rp = 0,
    rq = 0,
    rr = 0;
  let sx = 0,
    sy = 0,
    sp = 0,
    sq = 0,
    sr = 0,
    ss = 0;
  let bx = 0,
    by = 0,
    bp = 0,
    bq = 0,
    br = 0,
    bs = 0,
    bb = 0;
  let gx = 0,
    gy = 0,
    gp = 0,
    gq = 0,
    gr = 0,
    gs = 0,
    gb = 0;
  let chi2 = 0;
  let information = 0;
  for (let k = 0; k < stamp.count; k++) {
    const column = stamp.x[k];
    const row = stamp.y[k];
    const quadrature = pickNodes(nodes, star, column, row);
    integratePixel(star, profile, quadrature, column, row, sums);
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
    const dx = peak * sums[1];
    const dy = peak * sums[2];
    const dp = light;
    const dq = peak * sums[3];
    const dr = peak * sums[4];
    const ds = peak * sums[5];
    const wx = weight * dx;
    gx += wx * residual;
    xx += wx * dx;
    const wy = weight * dy;
    gy += wy * residual;
    yx += wy * dx;
    yy += wy * dy;
    const wp = weight * dp;
    gp += wp * residual;
    px += wp * dx;
    py += wp * dy;
    pp += wp * dp;
    const wq = weight * dq;
    gq += wq * residual;
    qx += wq * dx;
    qy += wq * dy;
    qp += wq * dp;
    qq += wq * dq;
    const wr = weight * dr;
    gr += wr * residual;
    rx += wr * dx;
    ry += wr * dy;
    rp += wr * dp;
    rq += wr * dq;
    rr += wr * dr;
    const ws = weight * ds;
    gs += ws * residual;
    sx += ws * dx;
    sy += ws * dy;
    sp += ws * dp;
    sq += ws * dq;
    sr += ws * dr;
    ss += ws * ds;
    gb += weight * residual;
    bx += wx;
    by += wy;
    bp += wp;
    bq += wq;
    br += wr;
    bs += ws;
    bb += weight;
  }
  fillNormal([
    xx,
    yx,
    yy,
    px,
    py,
    pp,
    qx,
    qy,
    qp,
    qq,
    rx,
    ry,
    rp,
    rq,
    rr,
    sx,
    sy,
    sp,
    sq,
    sr,
    ss,
    bx,
    by,
    bp,
    bq,
    br,
    bs,
    bb,
  ]);
  gradient.set([gx, gy, gp, gq, gr, gs, gb]);
  return { chi2, information };
}

/** Spreads the lower triangle, row by row, over the whole symmetric matrix. */
function fillNormal(triangle: readonly number[]): void {
  for (let i = 0, k = 0; i < n; i++) {
    for (let j = 0; j <= i; j++, k++) {
      normal[i * n + j] = triangle[k];
      normal[j * n + i] = triangle[k];
    }
  }
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
