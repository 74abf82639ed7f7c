import type { PixelNoise } from "./fit-star.ts";
import type { Profile } from "./profile.ts";
import type { Stamp } from "./stamp.ts";
import { chooseNodes, integratePixel, pickNodes, type StarShape } from "./star-model.ts";

/** What the light near the half-maximum contour says the fitted ellipticity lacks; and how much it knows. */
export interface ContourResidual {
  /** To be added to e1 and e2 of the pixel grid (y down). */
  e1: number;
  e2: number;
  /** Reciprocal of the variance of each. */
  weight: number;
}

/** Width of the window about the half-maximum, in half-widths: narrower, and too few pixels would be left to tell. */
const windowSigma = 0.35;

const sums = new Float64Array(6);

/**
 * The fit's ellipse is that of all the star's light: seeing makes the wings rounder than the core of a trailed star, and
 * the ellipse comes out up to a third rounder than the half-maximum contour. Here the residuals within a window about that
 * contour are asked how much ellipticity is missing there: weighted least squares of the residual on the model's
 * derivatives by e1 and e2 at constant area. To first order in the ellipticity missing; the pixel blurs residual and
 * derivative alike.
 */
export function measureContourResidual(
  stamp: Stamp,
  profile: Profile,
  noise: PixelNoise,
  star: StarShape,
): ContourResidual {
  const nodes = chooseNodes(star);
  const half = (star.peak * (star.qxx + star.qyy)) / 2;
  let aa = 0;
  let ab = 0;
  let bb = 0;
  let ra = 0;
  let rb = 0;
  for (let k = 0; k < stamp.count; k++) {
    const px = stamp.x[k];
    const py = stamp.y[k];
    const dx = px - star.x;
    const dy = py - star.y;
    const u = star.qxx * dx * dx + 2 * star.qxy * dx * dy + star.qyy * dy * dy;
    const off = (Math.sqrt(u) - 1) / windowSigma;
    if (off > 3) continue;
    integratePixel(star, profile, pickNodes(nodes, star, px, py), px, py, sums);
    const light = star.peak * sums[0];
    const variance = noise.sigmaAdu ** 2 + Math.max(light, 0) / noise.gainElectronsPerAdu;
    const weight = Math.exp(-0.5 * off * off) / variance;
    const residual = stamp.value[k] - star.background - light;
    const a = half * (sums[5] - sums[3]);
    const b = -half * sums[4];
    aa += weight * a * a;
    ab += weight * a * b;
    bb += weight * b * b;
    ra += weight * a * residual;
    rb += weight * b * residual;
  }
  const determinant = aa * bb - ab * ab;
  if (!(determinant > 0)) return { e1: 0, e2: 0, weight: 0 };
  return {
    e1: (bb * ra - ab * rb) / determinant,
    e2: (aa * rb - ab * ra) / determinant,
    weight: determinant / (aa + bb),
  };
}
