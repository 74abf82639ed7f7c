import { factorCholesky, invertCholesky, solveCholesky } from "../maths/linear.ts";
import { median } from "../maths/statistics.ts";
import { estimateCovariance } from "./shift-covariance.ts";
import {
  layOutDesign,
  type ShiftDesign,
  type ShiftStars,
  type ShiftTerms,
  type ShiftUnits,
  writeRows,
} from "./shift-model.ts";

/** What the shifts of all stars say together. */
export interface ShiftFit {
  design: ShiftDesign;
  units: ShiftUnits;
  /** um at the corner, or um, in the order of the design's columns. */
  coefficients: Float64Array;
  /** Row-major; errors of one star in several frames are taken as its own, not as new ones. */
  covariance: Float64Array;
  /** Observed less fitted, um, one for each row of the stars. */
  residualX: Float64Array;
  residualY: Float64Array;
  /** Weight of each row, 1 / um2; 0 where it lies too far off to be the same star. */
  weight: Float64Array;
  /** Scatter that the stars' own errors do not explain, um per axis. */
  excessUm: number;
  /** Different stars with weight. */
  stars: number;
}

/** Residuals beyond this many sigmas are held back by Huber's rule, beyond the second left out (mismatches; Hampel 1974). */
const heldBack = 2.2;
const leftOut = 6;
/** Median of chi-square with two degrees of freedom: 2 ln 2. */
const medianSquare = 2 * Math.LN2;
const rounds = 30;

/**
 * Robust weighted fit of the shift model to both components at once. Weights follow from the stars' own errors and a scatter
 * beyond them that the residuals tell; the covariance is the cluster-robust sandwich with leverage-corrected residuals
 * (MacKinnon & White 1985, J. Econometrics 29:305, HC3; Liang & Zeger 1986, Biometrika 73:13), stars as clusters.
 *
 * @returns null where the stars do not determine the terms asked for
 */
export function fitShift(stars: ShiftStars, terms: ShiftTerms, units: ShiftUnits): ShiftFit | null {
  const n = stars.xMm.length;
  const frames = n === 0 ? 0 : 1 + stars.frame.reduce((most, frame) => Math.max(most, frame), 0);
  const design = layOutDesign(terms, frames);
  if (2 * n < 2 * design.columns) return null;
  const rows = listRows(stars, design, units);
  const weight = stars.errorUm.map((error) => 1 / (error * error + 1e-6));
  let excessUm = 0;
  let solution: Solution | null = null;
  for (let round = 0; round < rounds; round++) {
    const next = solveWeighted(rows, stars, weight, design.columns);
    if (next === null) return null;
    const settled = solution !== null && isSettled(solution.coefficients, next.coefficients);
    solution = next;
    if (settled) break;
    excessUm = estimateExcess(next, stars.errorUm);
    reweight(weight, next, stars.errorUm, excessUm);
  }
  if (solution === null) return null;
  const slope = listSlopes(weight, solution, stars.errorUm, excessUm);
  const bread = solveWeighted(rows, stars, slope, design.columns);
  if (bread === null) return null;
  const covariance = estimateCovariance(
    rows,
    stars,
    weight,
    { ...solution, inverse: bread.inverse },
    design.columns,
  );
  const used = new Set<number>();
  weight.forEach((value, row) => {
    if (value > 0) used.add(stars.star[row]);
  });
  return {
    design,
    units,
    coefficients: solution.coefficients,
    covariance,
    residualX: solution.residualX,
    residualY: solution.residualY,
    weight,
    excessUm,
    stars: used.size,
  };
}

/** Design rows of all stars, x and y one after the other. */
function listRows(stars: ShiftStars, design: ShiftDesign, units: ShiftUnits): Float64Array {
  const { columns } = design;
  const rows = new Float64Array(2 * stars.xMm.length * columns);
  for (let row = 0; row < stars.xMm.length; row++) {
    const at = 2 * row * columns;
    const star = {
      xMm: stars.xMm[row],
      yMm: stars.yMm[row],
      colour: stars.colour[row],
      frame: stars.frame[row],
    };
    writeRows(
      design,
      units,
      star,
      rows.subarray(at, at + columns),
      rows.subarray(at + columns, at + 2 * columns),
    );
  }
  return rows;
}

interface Solution {
  coefficients: Float64Array;
  inverse: Float64Array;
  residualX: Float64Array;
  residualY: Float64Array;
}

function solveWeighted(
  rows: Float64Array,
  stars: ShiftStars,
  weight: Float64Array,
  columns: number,
): Solution | null {
  const normal = new Float64Array(columns * columns);
  const right = new Float64Array(columns);
  for (let row = 0; row < weight.length; row++) {
    if (weight[row] === 0) continue;
    for (const [offset, observed] of [
      [0, stars.dxUm[row]],
      [columns, stars.dyUm[row]],
    ]) {
      const at = 2 * row * columns + offset;
      for (let i = 0; i < columns; i++) {
        const scaled = weight[row] * rows[at + i];
        if (scaled === 0) continue;
        right[i] += scaled * observed;
        for (let j = 0; j <= i; j++) normal[i * columns + j] += scaled * rows[at + j];
      }
    }
  }
  const factor = factorCholesky(normal, columns);
  if (factor === null) return null;
  const coefficients = solveCholesky(factor, right);
  const subtract = (offset: number, observed: Float64Array): Float64Array =>
    observed.map((value, row) => {
      let rest = value;
      const at = 2 * row * columns + offset;
      for (let i = 0; i < columns; i++) rest -= rows[at + i] * coefficients[i];
      return rest;
    });
  return {
    coefficients,
    inverse: invertCholesky(factor, columns),
    residualX: subtract(0, stars.dxUm),
    residualY: subtract(columns, stars.dyUm),
  };
}

/** The scatter beyond the stars' errors at which half of the stars lie within the median of their distribution. */
function estimateExcess({ residualX, residualY }: Solution, errorUm: Float64Array): number {
  const squares = residualX.map((x, row) => x * x + residualY[row] ** 2);
  const excessAt = (excess2: number): number =>
    median(squares.map((square, row) => square / (errorUm[row] ** 2 + excess2))) - medianSquare;
  if (excessAt(0) <= 0) return 0;
  let [low, high] = [0, Math.max(...squares.subarray(0, 1), median(squares))];
  while (excessAt(high) > 0) high *= 2;
  for (let step = 0; step < 40; step++) {
    const middle = (low + high) / 2;
    if (excessAt(middle) > 0) low = middle;
    else high = middle;
  }
  return Math.sqrt((low + high) / 2);
}

function reweight(weight: Float64Array, solution: Solution, errorUm: Float64Array, excessUm: number): void {
  for (let row = 0; row < weight.length; row++) {
    const variance = errorUm[row] ** 2 + excessUm ** 2 + 1e-8;
    const distance = Math.hypot(solution.residualX[row], solution.residualY[row]) / Math.sqrt(variance);
    weight[row] =
      Number.isFinite(distance) && distance < leftOut ? Math.min(1, heldBack / distance) / variance : 0;
  }
}

/**
 * Mean slope of the held-back residual, by which a score turns into an estimate's error: 1 inside, beyond the limit 0 along the
 * residual and limit / distance across it (Huber 1981, Robust Statistics, 7.6, for two components).
 */
function listSlopes(
  weight: Float64Array,
  { residualX, residualY }: Solution,
  errorUm: Float64Array,
  excessUm: number,
): Float64Array {
  return weight.map((value, row) => {
    const variance = errorUm[row] ** 2 + excessUm ** 2 + 1e-8;
    const distance = Math.hypot(residualX[row], residualY[row]) / Math.sqrt(variance);
    return distance > heldBack ? value / 2 : value;
  });
}

function isSettled(before: Float64Array, after: Float64Array): boolean {
  return after.every((value, k) => Math.abs(value - before[k]) < 1e-5);
}
