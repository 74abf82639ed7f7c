import { searchSizes, solveWithPrior } from "../maths/evidence.ts";
import { FITTED } from "./fit-stars.ts";
import { readTerms } from "./profile-field.ts";
import { fitMap, readMap } from "./smooth-map.ts";

/** Stars below this say less of the contour than their number adds in noise. */
const leastSnr = 40;
/** Fewest stars for a correction at all, and for one that changes over the frame. */
const fewestStars = { constant: 8, changing: 12 };
/** Stars further off than this many sigmas of the scatter are left out of the second round. */
const clipSigmas = 4;

/** Polynomials of the place, to second order, for each of e1 and e2; then two terms in proportion to ellipticity. */
const polynomials = 6;
const changingTerms = 2 * polynomials + 2;
/** One-sigma size expected of what all stars share, and sizes tried of its change: linear, quadratic, with ellipticity. */
const commonSize = 0.1;
const sizesTried = [0.0003, 0.001, 0.003, 0.01, 0.03, 0.1];
const sizesAtFirst = [0.001, 0.001, 0.01];
const groupOfPolynomial = [-1, 0, 0, 1, 1, 1];
/** The third group is a share of the ellipticity, which is ten times as large as what it stands beside. */
const shareOverSize = 10;

/** Ellipticity to be added at a place of the frame, on the pixel grid (y down). */
export type EllipticityCorrection = (x: number, y: number) => { e1: number; e2: number };

/** Spread between plain stars' contours beyond photon noise, in ellipticity: keeps the brightest from deciding alone. */
const starToStar = 0.01;

/** What one star says: how its contour's lack in e1 and in e2 answers to the terms, the lacks, and their weight. */
interface Contour {
  terms: [Float64Array, Float64Array];
  lacks: [number, number];
  weight: number;
}

type TermReader = (x: number, y: number) => [Float64Array, Float64Array];

/**
 * The ellipticity that the half-maximum contours have beyond the fitted ellipses, as a smooth function of the place,
 * through what the bright stars say (see measureContourResidual). A trailed exposure lacks the same everywhere, an astigmatic
 * field in proportion to its own ellipticity; besides there are polynomials to second order. How much of each there is, the stars
 * say themselves (their evidence), so that few of them invent no change. Zero where there are too few for anything.
 */
export function fitEllipticityCorrection(
  fitted: Float64Array,
  plane: { widthPx: number; heightPx: number },
): EllipticityCorrection {
  const rows = listBrightRows(fitted);
  if (rows.length < fewestStars.constant) return () => ({ e1: 0, e2: 0 });
  const readAt = rows.length < fewestStars.changing ? readCommonTerms : makeTermReader(fitted, rows, plane);
  const contours = rows.map(
    (at): Contour => ({
      terms: readAt(fitted[at], fitted[at + 1]),
      lacks: [fitted[at + FITTED.contourE1], fitted[at + FITTED.contourE2]],
      weight: 1 / (1 / fitted[at + FITTED.contourWeight] + starToStar ** 2),
    }),
  );
  let solution = solveContours(contours);
  const kept = keepContours(contours, solution);
  if (kept.length > fewestStars.constant) solution = solveContours(kept);
  return (x, y) => {
    const [first, second] = readAt(x, y);
    return { e1: sumTerms(first, solution), e2: sumTerms(second, solution) };
  };
}

function listBrightRows(fitted: Float64Array): number[] {
  const rows: number[] = [];
  for (let at = 0; at < fitted.length; at += FITTED.length) {
    const whole = fitted[at + FITTED.missing] === 0 && fitted[at + FITTED.converged] === 1;
    if (whole && fitted[at + FITTED.snr] >= leastSnr && fitted[at + FITTED.contourWeight] > 0) rows.push(at);
  }
  return rows;
}

function readCommonTerms(): [Float64Array, Float64Array] {
  return [Float64Array.of(1, 0), Float64Array.of(0, 1)];
}

function makeTermReader(
  fitted: Float64Array,
  rows: readonly number[],
  plane: { widthPx: number; heightPx: number },
): TermReader {
  const column = (read: (at: number) => number) => Float64Array.from(rows, read);
  const [xPx, yPx] = [column((at) => fitted[at]), column((at) => fitted[at + 1])];
  const trace = (at: number) => fitted[at + 3] + fitted[at + 5];
  const map1 = fitMap(
    plane,
    xPx,
    yPx,
    column((at) => (fitted[at + 5] - fitted[at + 3]) / trace(at)),
  );
  const map2 = fitMap(
    plane,
    xPx,
    yPx,
    column((at) => (-2 * fitted[at + 4]) / trace(at)),
  );
  return (x, y) => {
    const first = new Float64Array(changingTerms);
    const second = new Float64Array(changingTerms);
    readTerms(plane, x, y, first.subarray(0, polynomials));
    second.set(first.subarray(0, polynomials), polynomials);
    const [e1, e2] = [readMap(map1, x, y), readMap(map2, x, y)];
    const square = e1 * e1 + e2 * e2;
    first.set([e1, e1 * square], 2 * polynomials);
    second.set([e2, e2 * square], 2 * polynomials);
    return [first, second];
  };
}

function sumTerms(terms: Float64Array, coefficients: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < terms.length; i++) sum += terms[i] * coefficients[i];
  return sum;
}

function solveContours(contours: readonly Contour[]): Float64Array {
  const count = contours[0].terms[0].length;
  const normal = new Float64Array(count * count);
  const right = new Float64Array(count);
  for (const { terms, lacks, weight } of contours) {
    terms.forEach((own, component) => {
      for (let i = 0; i < count; i++) {
        right[i] += weight * own[i] * lacks[component];
        for (let j = 0; j < count; j++) normal[i * count + j] += weight * own[i] * own[j];
      }
    });
  }
  const solve = (sizes: readonly number[]) => {
    const precision = new Float64Array(count * count);
    let lnDeterminant = 0;
    for (let t = 0; t < count; t++) {
      const size = sizeTerm(t, count, sizes);
      precision[t * count + t] = size ** -2;
      lnDeterminant -= 2 * Math.log(size);
    }
    return solveWithPrior(normal, right, precision, lnDeterminant);
  };
  const sizes =
    count === changingTerms
      ? searchSizes(sizesAtFirst, sizesTried, (tried) => solve(tried)?.evidence ?? Number.NEGATIVE_INFINITY)
      : sizesAtFirst;
  return solve(sizes)?.solution ?? new Float64Array(count);
}

function sizeTerm(term: number, count: number, sizes: readonly number[]): number {
  if (count < changingTerms) return commonSize;
  if (term >= 2 * polynomials) return shareOverSize * sizes[2];
  const group = groupOfPolynomial[term % polynomials];
  return group < 0 ? commonSize : sizes[group];
}

/** The contours that are not far off, weighed by the scatter they show (the window's weights overstate it by a half). */
function keepContours(contours: readonly Contour[], solution: Float64Array): Contour[] {
  const off = contours.map(
    ({ terms, lacks, weight }) =>
      Math.hypot(lacks[0] - sumTerms(terms[0], solution), lacks[1] - sumTerms(terms[1], solution)) *
      Math.sqrt(weight),
  );
  // The median of the size of a plane normal deviate is 1.177 sigmas.
  const sigma = off.toSorted((a, b) => a - b)[off.length >> 1] / 1.177;
  return contours
    .filter((_, i) => off[i] < clipSigmas * sigma)
    .map((contour) => ({ ...contour, weight: contour.weight / sigma ** 2 }));
}
