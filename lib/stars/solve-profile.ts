import { searchSizes, solveWithPrior } from "../maths/evidence.ts";
import type { ProfileEquations } from "./learn-profile.ts";
import { BASES, locateBasis, type ProfileField, readBases } from "./profile-field.ts";

/**
 * How far the profile may lie from the Moffat one before the stars have said anything: 10 % in the core, and in
 * proportion to 1 + r^2 further out, where a Moffat profile with the right core may be wrong by a factor.
 * Chosen so that ten stars of signal to noise 100 outweigh it in the core.
 */
const coreFreedom = 0.1;

/** The correction is smooth: its second difference is held to this share of its freedom. */
const smoothness = 0.5;

/**
 * Radii squared at which the common correction is zero, by a prior so many times stiffer than the core's: the light there
 * is a star's peak and its half-maximum, which are the star's own to say. Peak and width follow any change of the profile, so
 * that the pixels leave these two open and the prior alone moved them, by up to 7 % of the width in a round: too far for
 * equations that are linear in it. Three rounds then left all widths off alike, by up to 5 % (1.8 % rms over 12 frames of
 * bright stars; held, 0.4 %). The terms that change
 * are small and stay free: held too, they let the prior bend the core of stars that are a fifth wider.
 */
const heldAt = [0, 1];
const heldStiffness = 1000;

/** How much of that freedom is left where another colour of the same frame has told the profile already. */
const siblingFreedom = 0.3;

/** Sizes tried of the profile's change over the frame, as shares of the common profile's freedom. */
const sizesTried = [0.01, 0.04, 0.12, 0.35, 1, 3, 9];
/** Where that search starts: from little change. */
const sizesAtFirst = [0.04, 0.04, 0.04];
/** Group of each of CHANGING_TERMS terms, the common one first (its size is given): linear, quadratic, growth. */
const groupOfTerm = [-1, 0, 0, 1, 1, 1, 2, 2];

/**
 * Solves the summed equations for new coefficients, with the prior that keeps few stars from inventing structure: about
 * the Moffat profile, or about `sibling`, of the same exponent and terms, where there is one.
 *
 * How much the profile changes over the frame is not known beforehand: a train in focus all over has one profile, one with
 * a curved field has many. The sizes of its linear, its quadratic and its growth's terms are those under which the stars are
 * likeliest. With fixed sizes wide enough for a curved field, frames of one profile came out with widths wrong by 1 % rms
 * smoothly over the field, which looks like a tilt and a curvature.
 */
export function solveProfile(
  field: ProfileField,
  equations: ProfileEquations,
  sibling: ProfileField | null = null,
): ProfileField {
  const { terms, coefficients } = field;
  const size = terms * BASES;
  const core = (sibling === null ? 1 : siblingFreedom) * coreFreedom;
  const smooth = makeSmoothPrior(core);
  const held = holdPeakAndHalf(smooth, heldStiffness / core);
  const away = coefficients.map((value, k) => value - (sibling?.coefficients[k] ?? 0));
  // The equations give the change; the prior speaks of the whole, so the present value enters the right-hand side.
  const right = equations.gradient.map((value, a) => {
    let sum = value;
    for (let b = 0; b < size; b++) sum += equations.normal[a * size + b] * away[b];
    return sum;
  });
  const solve = (sizes: readonly number[]) => {
    const sizeOfTerm = Array.from({ length: terms }, (_, t) => (t === 0 ? 1 : sizes[groupOfTerm[t]]));
    const lnDeterminant = sizeOfTerm.reduce((sum, own) => sum - 2 * BASES * Math.log(own), 0);
    return solveWithPrior(equations.normal, right, joinPriors(held, smooth, sizeOfTerm), lnDeterminant);
  };
  const sizes =
    terms === 1
      ? sizesAtFirst
      : searchSizes(sizesAtFirst, sizesTried, (tried) => solve(tried)?.evidence ?? Number.NEGATIVE_INFINITY);
  const solved = solve(sizes);
  if (solved === null) return field;
  return { ...field, coefficients: coefficients.map((value, k) => value - away[k] + solved.solution[k]) };
}

/** Inverse covariance of one term's coefficients: each about zero by its freedom, neighbours alike. */
function makeSmoothPrior(core: number): Float64Array {
  const prior = new Float64Array(BASES * BASES);
  const bend = [1, -2, 1];
  for (let k = 0; k < BASES; k++) {
    const freedom = core * Math.max(1, Math.exp(0.75 * locateBasis(k)));
    prior[k * BASES + k] += freedom ** -2;
    if (k === 0 || k === BASES - 1) continue;
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 3; j++) {
        prior[(k - 1 + i) * BASES + k - 1 + j] += (bend[i] * bend[j]) / (smoothness * freedom) ** 2;
      }
    }
  }
  return prior;
}

/** The same prior with the correction held to zero at the peak and at the half-maximum. */
function holdPeakAndHalf(smooth: Float64Array, stiffness: number): Float64Array {
  const prior = Float64Array.from(smooth);
  const four = new Float64Array(4);
  for (const u of heldAt) {
    const first = readBases(u, four);
    for (let i = 0; i < 4; i++) {
      for (let j = 0; j < 4; j++) {
        prior[(first + i) * BASES + first + j] += four[i] * four[j] * stiffness ** 2;
      }
    }
  }
  return prior;
}

/** The priors of all terms, the common one's first, each by its size. */
function joinPriors(
  common: Float64Array,
  changing: Float64Array,
  sizeOfTerm: readonly number[],
): Float64Array {
  const size = sizeOfTerm.length * BASES;
  const prior = new Float64Array(size * size);
  sizeOfTerm.forEach((own, t) => {
    const of = t === 0 ? common : changing;
    for (let a = 0; a < BASES; a++) {
      for (let b = 0; b < BASES; b++) {
        prior[(t * BASES + a) * size + t * BASES + b] = of[a * BASES + b] / own ** 2;
      }
    }
  });
  return prior;
}
