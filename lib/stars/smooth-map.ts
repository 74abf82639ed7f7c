import { invertSymmetric } from "./small-matrix.ts";

/** A size on a frame's stars as a smooth function of the place: coefficients of polynomials to fourth order. */
export interface SmoothMap {
  widthPx: number;
  heightPx: number;
  coefficients: Float64Array;
}

/** Orders of the place's polynomials. */
const orders = [0, 1, 1, 2, 2, 2, 3, 3, 3, 3, 4, 4, 4, 4, 4];
const n = orders.length;
/** One-sigma sizes expected of the terms by their order, for ln(width) and ellipticity alike (chosen: focus, tilt, curvature). */
const expectedSize = [10, 0.3, 0.4, 0.15, 0.15];
/** Scatter of single bright stars about a smooth field. */
const starScatter = 0.02;
/** Stars further off than this many sigmas of the scatter count less. */
const limitSigmas = 2;
const passes = 4;

const terms = new Float64Array(n);

function fillTerms(frame: { widthPx: number; heightPx: number }, x: number, y: number): void {
  const u = (2 * x) / frame.widthPx - 1;
  const v = (2 * y) / frame.heightPx - 1;
  let at = 0;
  for (let order = 0; order <= 4; order++) {
    for (let power = 0; power <= order; power++) terms[at++] = u ** (order - power) * v ** power;
  }
}

export function readMap(map: SmoothMap, x: number, y: number): number {
  fillTerms(map, x, y);
  let sum = 0;
  for (let k = 0; k < n; k++) sum += terms[k] * map.coefficients[k];
  return sum;
}

/** Fits a map to values at places (px); robust least squares, each term held to the size expected of its order. */
export function fitMap(
  frame: { widthPx: number; heightPx: number },
  xPx: ArrayLike<number>,
  yPx: ArrayLike<number>,
  values: Float64Array,
): SmoothMap {
  const weights = new Float64Array(values.length).fill(1);
  const map: SmoothMap = {
    widthPx: frame.widthPx,
    heightPx: frame.heightPx,
    coefficients: new Float64Array(n),
  };
  for (let pass = 0; pass < passes; pass++) {
    map.coefficients = solveMap(frame, xPx, yPx, values, weights);
    const off = values.map((value, i) => Math.abs(value - readMap(map, xPx[i], yPx[i])));
    const scale = Math.max(starScatter / 4, 1.4826 * off.slice().sort()[off.length >> 1]);
    for (let i = 0; i < weights.length; i++) weights[i] = Math.max(1, off[i] / (limitSigmas * scale)) ** -2;
  }
  return map;
}

function solveMap(
  frame: { widthPx: number; heightPx: number },
  xPx: ArrayLike<number>,
  yPx: ArrayLike<number>,
  values: Float64Array,
  weights: Float64Array,
): Float64Array {
  const normal = new Float64Array(n * n);
  const right = new Float64Array(n);
  for (let i = 0; i < values.length; i++) {
    fillTerms(frame, xPx[i], yPx[i]);
    for (let a = 0; a < n; a++) {
      right[a] += weights[i] * terms[a] * values[i];
      for (let b = 0; b < n; b++) normal[a * n + b] += weights[i] * terms[a] * terms[b];
    }
  }
  for (let k = 0; k < n; k++) normal[k * n + k] += (starScatter / expectedSize[orders[k]]) ** 2;
  const coefficients = new Float64Array(n);
  if (!invertSymmetric(normal, n, new Float64Array(n * n))) return coefficients;
  for (let a = 0; a < n; a++) {
    for (let b = 0; b < n; b++) coefficients[a] += normal[a * n + b] * right[b];
  }
  return coefficients;
}
