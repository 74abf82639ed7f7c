import { FITTED } from "./fit-stars.ts";
import { readTerms } from "./profile-field.ts";
import { invertSymmetric } from "./small-matrix.ts";

/** Stars below this say less of the contour than their number adds in noise. */
const leastSnr = 40;
/** Fewest stars for a correction at all, and for one that changes over the frame to first and second order. */
const fewestStars = { constant: 8, linear: 24, quadratic: 60 };
/** Stars further off than this many sigmas of the scatter are left out of the second round. */
const clipSigmas = 4;

/** Ellipticity to be added at a place of the frame, on the pixel grid (y down). */
export type EllipticityCorrection = (x: number, y: number) => { e1: number; e2: number };

/**
 * The ellipticity that the half-maximum contours have beyond the fitted ellipses, as a smooth function of the place: a
 * polynomial of first or second order through what the bright stars say (see measureContourResidual). Zero where there
 * are too few of them. A trailed exposure gives a constant, an astigmatic field one that grows with the radius squared.
 */
export function fitEllipticityCorrection(
  fitted: Float64Array,
  plane: { widthPx: number; heightPx: number },
): EllipticityCorrection {
  let rows: number[] = [];
  for (let at = 0; at < fitted.length; at += FITTED.length) {
    const whole = fitted[at + FITTED.missing] === 0 && fitted[at + FITTED.converged] === 1;
    if (whole && fitted[at + FITTED.snr] >= leastSnr && fitted[at + FITTED.contourWeight] > 0) rows.push(at);
  }
  if (rows.length < fewestStars.constant) return () => ({ e1: 0, e2: 0 });
  const terms = rows.length >= fewestStars.quadratic ? 6 : rows.length >= fewestStars.linear ? 3 : 1;
  let first = solve(fitted, rows, FITTED.contourE1, plane, terms);
  let second = solve(fitted, rows, FITTED.contourE2, plane, terms);
  rows = clipRows(fitted, rows, plane, first, second);
  if (rows.length >= fewestStars.constant + terms) {
    first = solve(fitted, rows, FITTED.contourE1, plane, terms);
    second = solve(fitted, rows, FITTED.contourE2, plane, terms);
  }
  const values = new Float64Array(terms);
  return (x, y) => {
    readTerms(plane, x, y, values);
    return { e1: sumTerms(values, first), e2: sumTerms(values, second) };
  };
}

function sumTerms(values: Float64Array, coefficients: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i] * coefficients[i];
  return sum;
}

/** Spread between plain stars' contours beyond photon noise, in ellipticity: keeps the brightest from deciding alone. */
const starToStar = 0.01;

function solve(
  fitted: Float64Array,
  rows: readonly number[],
  column: number,
  plane: { widthPx: number; heightPx: number },
  terms: number,
): Float64Array {
  const normal = new Float64Array(terms * terms);
  const right = new Float64Array(terms);
  const values = new Float64Array(terms);
  for (const at of rows) {
    readTerms(plane, fitted[at], fitted[at + 1], values);
    const weight = 1 / (1 / fitted[at + FITTED.contourWeight] + starToStar ** 2);
    for (let i = 0; i < terms; i++) {
      right[i] += weight * values[i] * fitted[at + column];
      for (let j = 0; j < terms; j++) normal[i * terms + j] += weight * values[i] * values[j];
    }
  }
  const coefficients = new Float64Array(terms);
  if (!invertSymmetric(normal, terms, new Float64Array(terms * terms))) return coefficients;
  for (let i = 0; i < terms; i++) {
    for (let j = 0; j < terms; j++) coefficients[i] += normal[i * terms + j] * right[j];
  }
  return coefficients;
}

function clipRows(
  fitted: Float64Array,
  rows: readonly number[],
  plane: { widthPx: number; heightPx: number },
  first: Float64Array,
  second: Float64Array,
): number[] {
  const values = new Float64Array(first.length);
  const off = rows.map((at) => {
    readTerms(plane, fitted[at], fitted[at + 1], values);
    const sigma = Math.sqrt(1 / fitted[at + FITTED.contourWeight] + starToStar ** 2);
    const e1 = fitted[at + FITTED.contourE1] - sumTerms(values, first);
    const e2 = fitted[at + FITTED.contourE2] - sumTerms(values, second);
    return Math.hypot(e1, e2) / sigma;
  });
  const median = off.toSorted((a, b) => a - b)[off.length >> 1];
  // The median of the size of a plane normal deviate is 1.177 sigmas.
  return rows.filter((_, i) => off[i] < (clipSigmas * median) / 1.177);
}
