import type { Profile } from "./profile.ts";
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

/** Pixels further off than this, in sigmas, are something else's light (a hot pixel, an unseen star), and count less. */
const outlierSquared = 5 ** 2;
/** By how much of its own light the profile may be wrong in a pixel before that is held against the pixel. */
const profileDoubt = 0.25;

const n = PARAMETERS;
const sums = new Float64Array(6);

/**
 * Fills `normal` and `gradient` for the star as it stands; yields chi-square and the information on the peak alone.
 * The sums stand in variables of their own, not in an array: this loop is most of a frame's measuring, and so it runs
 * twice as fast. Row i, column j of the normal matrix is n[i][j]; x, y, p(eak), q, r, s (qxx, qxy, qyy), b(ackground).
 */
export function accumulateNormal(
  stamp: Stamp,
  profile: Profile,
  noise: PixelNoise,
  star: StarShape,
  normal: Float64Array,
  gradient: Float64Array,
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
  fillNormal(normal, [
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
function fillNormal(normal: Float64Array, triangle: readonly number[]): void {
  for (let i = 0, k = 0; i < n; i++) {
    for (let j = 0; j <= i; j++, k++) {
      normal[i * n + j] = triangle[k];
      normal[j * n + i] = triangle[k];
    }
  }
}
