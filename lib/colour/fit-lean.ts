import { fitShift } from "./fit-shift.ts";
import type { Estimate } from "./measure-shift.ts";
import { type ShiftStars, type ShiftUnits, takeRows, writeRows } from "./shift-model.ts";

/** By how much the light's places differ from the fitted ones between two channels, as a smooth function of the field. */
export interface LeanFit {
  /** Along the radius at the corner, and of the whole field, um. */
  lateral: Estimate;
  x: Estimate;
  y: Estimate;
  stars: number;
  /** At a place of the sensor, um along x and y. */
  at: (xMm: number, yMm: number) => { x: number; y: number };
}

const fewestStars = 30;
/** Known worse than this at the corner, um, what is to be mended is mended no better than left (it came to 0.13 on drawn frames). */
const largestErrorUm = 0.07;

/**
 * Coma grows in proportion to the field radius, and with it what the fitted centres err by: a straight line, an unequal stretch and
 * a shift. A curve as well would carry more noise than it explains.
 */
const terms = { ownPointing: false, cubic: false, shear: true, quadratic: false, colour: false };

/** Share of what was corrected that stands as doubt: on drawn frames up to a fifth of it was left over. */
const doubt = 0.2;
/** What profile fits and moments err by between two colours however many stars there are, um (drawn frames, 0.003 px). */
const leastErrorUm = 0.01;

/** Null where fewer than 30 stars tell or their errors are too large; rows without a measured light's centre are left out. */
export function fitLean(stars: ShiftStars, units: ShiftUnits): LeanFit | null {
  const measured = takeRows(stars, (row) => Number.isFinite(stars.leanXUm[row] + stars.leanErrorUm[row]));
  const { leanXUm, leanYUm, leanErrorUm } = measured;
  const fit = fitShift(
    {
      ...measured,
      dxUm: leanXUm,
      dyUm: leanYUm,
      errorUm: leanErrorUm,
      frame: new Int32Array(leanXUm.length),
    },
    terms,
    units,
  );
  if (fit === null || fit.stars < fewestStars) return null;
  const { design, coefficients, covariance } = fit;
  const read = (column: number): Estimate => {
    const value = coefficients[column];
    const variance = covariance[column * design.columns + column];
    return {
      value,
      error: Math.hypot(Math.sqrt(variance), doubt * value, leastErrorUm),
      freedom: Math.max(1, fit.stars - design.columns / 2),
    };
  };
  const rowX = new Float64Array(design.columns);
  const rowY = new Float64Array(design.columns);
  const lateral = read(design.radial);
  if (!(lateral.error < largestErrorUm)) return null;
  return {
    lateral,
    x: read(design.shift),
    y: read(design.shift + 1),
    stars: fit.stars,
    at: (xMm, yMm) => {
      writeRows(design, units, { xMm, yMm, colour: 0, frame: 0 }, rowX, rowY);
      const sum = (row: Float64Array) => row.reduce((total, value, k) => total + value * coefficients[k], 0);
      return { x: sum(rowX), y: sum(rowY) };
    },
  };
}

/** The stars with the places of their light instead of the fitted ones. */
export function moveToLight(stars: ShiftStars, lean: LeanFit): ShiftStars {
  const moved = { ...stars, dxUm: stars.dxUm.slice(), dyUm: stars.dyUm.slice() };
  for (let row = 0; row < stars.xMm.length; row++) {
    const { x, y } = lean.at(stars.xMm[row], stars.yMm[row]);
    moved.dxUm[row] += x;
    moved.dyUm[row] += y;
  }
  return moved;
}

/** An estimate from moved places with the error of the move. */
export function addError(estimate: Estimate, move: Estimate | undefined, factor = 1): Estimate {
  return move === undefined
    ? estimate
    : { ...estimate, error: Math.hypot(estimate.error, factor * move.error) };
}
