import type { PixelNoise } from "./fit-star.ts";
import { type Profile, readMoffat } from "./profile.ts";
import { BASES, type ProfileField, readBases, readFieldTerms } from "./profile-field.ts";
import { invertSymmetric } from "./small-matrix.ts";
import type { Stamp } from "./stamp.ts";
import { chooseNodes, integratePixel, PARAMETERS, pickNodes, type StarShape } from "./star-model.ts";

/** Normal equations of the profile's coefficients, summed over stars. */
export interface ProfileEquations {
  normal: Float64Array;
  gradient: Float64Array;
}

export function makeProfileEquations(terms: number): ProfileEquations {
  const size = terms * BASES;
  return { normal: new Float64Array(size * size), gradient: new Float64Array(size) };
}

/**
 * Stars differ from any common profile by about this share of their light (sub-structure of the air, pixel response):
 * without it one very bright star would outvote all others. Chosen: the scatter between neighbouring bright stars of
 * simulated 60 s exposures is 0.3 to 1 %.
 */
const starToStarShare = 0.01;

const n = PARAMETERS;
const sums = new Float64Array(6);
const basis = new Float64Array(BASES);
const four = new Float64Array(4);
const derivative = new Float64Array(n);

/** The bases times the Moffat profile on a fine grid of radius: within 0.2 % of a base, which only steers the learning. */
interface BasisTable {
  beta: number;
  first: Uint8Array;
  /** Four values a grid point. */
  values: Float64Array;
}

const basisSteps = 200;
const basisLength = 28 * basisSteps;
let lastTable: BasisTable | undefined;

function tabulateBases(beta: number): BasisTable {
  if (lastTable?.beta === beta) return lastTable;
  const table = { beta, first: new Uint8Array(basisLength), values: new Float64Array(4 * basisLength) };
  for (let at = 0; at < basisLength; at++) {
    const u = (at / basisSteps) ** 2;
    table.first[at] = readBases(u, four);
    const light = readMoffat(u, beta);
    for (let i = 0; i < 4; i++) table.values[4 * at + i] = light * four[i];
  }
  lastTable = table;
  return table;
}

/**
 * Adds one star's say about the profile: what its residuals want changed in the radial profile once the star's own
 * seven parameters are free to follow (they are eliminated by the Schur complement, so that the profile and the star
 * do not chase each other from round to round).
 *
 * `star` is the fit with the profile now in use, `profile`, which `field` gives at the star.
 */
export function addStarToEquations(
  equations: ProfileEquations,
  field: ProfileField,
  profile: Profile,
  stamp: Stamp,
  noise: PixelNoise,
  star: StarShape,
): void {
  const starStar = new Float64Array(n * n);
  const starBasis = new Float64Array(n * BASES);
  const basisBasis = new Float64Array(BASES * BASES);
  const starGradient = new Float64Array(n);
  const basisGradient = new Float64Array(BASES);
  const nodes = chooseNodes(star);
  const scale = profile.halfRadius ** 2;
  const table = tabulateBases(field.beta);
  const peakScale = star.peak / lightAtCentre(field, star);
  for (let k = 0; k < stamp.count; k++) {
    const px = stamp.x[k];
    const py = stamp.y[k];
    const quadrature = pickNodes(nodes, star, px, py);
    integratePixel(star, profile, quadrature, px, py, sums);
    basis.fill(0);
    let low = BASES;
    let high = 0;
    for (let q = 0; q < quadrature.count; q++) {
      const dx = px - star.x + quadrature.dx[q];
      const dy = py - star.y + quadrature.dy[q];
      const u = scale * (star.qxx * dx * dx + 2 * star.qxy * dx * dy + star.qyy * dy * dy);
      const at = Math.min(Math.round(Math.sqrt(u) * basisSteps), basisLength - 1);
      const first = table.first[at];
      const light = quadrature.weight[q] * peakScale;
      for (let i = 0; i < 4; i++) basis[first + i] += light * table.values[4 * at + i];
      if (first < low) low = first;
      if (first + 4 > high) high = first + 4;
    }
    const signal = Math.max(star.peak * sums[0], 0);
    const variance =
      noise.sigmaAdu ** 2 + signal / noise.gainElectronsPerAdu + (starToStarShare * signal) ** 2;
    const residual = stamp.value[k] - star.background - star.peak * sums[0];
    // A stranger's light says nothing of the profile; the profile's own error, large before it is learned, does.
    if (residual * residual > 36 * (variance + (signal / 2) ** 2)) continue;
    const weight = 1 / variance;
    for (let i = 0; i < n; i++) derivative[i] = i < 2 ? star.peak * sums[i + 1] : star.peak * sums[i];
    derivative[2] = sums[0];
    derivative[6] = 1;
    for (let i = 0; i < n; i++) {
      const d = weight * derivative[i];
      starGradient[i] += d * residual;
      for (let j = 0; j < n; j++) starStar[i * n + j] += d * derivative[j];
      for (let j = low; j < high; j++) starBasis[i * BASES + j] += d * basis[j];
    }
    for (let i = low; i < high; i++) {
      const d = weight * basis[i];
      basisGradient[i] += d * residual;
      for (let j = low; j < high; j++) basisBasis[i * BASES + j] += d * basis[j];
    }
  }
  starStar[48] += noise.backgroundSigmaAdu ** -2;
  starGradient[6] -= star.background * noise.backgroundSigmaAdu ** -2;
  if (!invertSymmetric(starStar, n, new Float64Array(n * n))) return;
  eliminateStar(starStar, starBasis, starGradient, basisBasis, basisGradient);
  spreadOverTerms(equations, field, star, basisBasis, basisGradient);
}

/** Light of the uncorrected function at radius 0 where the star is: ties the star's peak to the Moffat's scale. */
function lightAtCentre(field: ProfileField, star: StarShape): number {
  const terms = new Float64Array(field.terms);
  readFieldTerms(field, star.x, star.y, terms);
  const first = readBases(0, four);
  let light = 1;
  for (let t = 0; t < field.terms; t++) {
    for (let i = 0; i < 4; i++) light += terms[t] * four[i] * field.coefficients[t * BASES + first + i];
  }
  return light;
}

function eliminateStar(
  inverse: Float64Array,
  cross: Float64Array,
  starGradient: Float64Array,
  matrix: Float64Array,
  gradient: Float64Array,
): void {
  const solved = new Float64Array(n * BASES);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      const a = inverse[i * n + j];
      for (let k = 0; k < BASES; k++) solved[i * BASES + k] += a * cross[j * BASES + k];
    }
  }
  for (let i = 0; i < n; i++) {
    for (let k = 0; k < BASES; k++) {
      const s = solved[i * BASES + k];
      gradient[k] -= s * starGradient[i];
      for (let j = 0; j < BASES; j++) matrix[k * BASES + j] -= s * cross[i * BASES + j];
    }
  }
}

function spreadOverTerms(
  equations: ProfileEquations,
  field: ProfileField,
  star: StarShape,
  matrix: Float64Array,
  gradient: Float64Array,
): void {
  const size = field.terms * BASES;
  const terms = new Float64Array(field.terms);
  readFieldTerms(field, star.x, star.y, terms);
  for (let s = 0; s < field.terms; s++) {
    for (let i = 0; i < BASES; i++) {
      equations.gradient[s * BASES + i] += terms[s] * gradient[i];
      for (let t = 0; t < field.terms; t++) {
        const product = terms[s] * terms[t];
        const row = (s * BASES + i) * size + t * BASES;
        for (let j = 0; j < BASES; j++) equations.normal[row + j] += product * matrix[i * BASES + j];
      }
    }
  }
}
