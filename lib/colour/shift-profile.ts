import { computeStudentQuantile } from "../maths/distributions.ts";
import { makeMeasured, type Quantity } from "../maths/quantity.ts";
import { computeHalfWidth, type ShiftMeasure } from "./measure-shift.ts";
import type { ShiftStars } from "./shift-model.ts";

/** Shift along the radius in rings of field radius, everything that is not radial taken off. */
export interface ShiftProfile {
  rMm: number[];
  radial: Quantity[];
  stars: number[];
}

/** The fitted curve with its 95 % band. */
export interface ShiftCurve {
  rMm: number[];
  um: number[];
  loUm: number[];
  hiUm: number[];
}

const rings = 12;
const fewestInRing = 6;
const curvePoints = 25;

/** A star's radial shift: what the fit says at its place and what is left over there. */
export function listRadialShifts(
  { fit }: ShiftMeasure,
  stars: ShiftStars,
): { star: number; rMm: number; um: number; weight: number }[] {
  const { design, coefficients, units } = fit;
  return Array.from(stars.xMm.keys()).flatMap((row) => {
    const [x, y] = [stars.xMm[row], stars.yMm[row]];
    const rMm = Math.hypot(x, y);
    if (fit.weight[row] === 0 || rMm === 0) return [];
    const rho = rMm / units.halfDiagonalMm;
    const cubic = design.cubic < 0 ? 0 : coefficients[design.cubic];
    const left = (fit.residualX[row] * x + fit.residualY[row] * y) / rMm;
    const um = coefficients[design.radial] * rho + cubic * rho ** 3 + left;
    return [{ star: stars.star[row], rMm, um, weight: fit.weight[row] }];
  });
}

/** Weighted means in rings of equal width, with intervals from star to star; a ring of few stars is left out. */
export function measureShiftProfile(measure: ShiftMeasure, stars: ShiftStars): ShiftProfile {
  const half = measure.fit.units.halfDiagonalMm;
  const profile: ShiftProfile = { rMm: [], radial: [], stars: [] };
  const shifts = listRadialShifts(measure, stars);
  for (let ring = 0; ring < rings; ring++) {
    const inside = shifts.filter(({ rMm }) => Math.min(rings - 1, Math.floor((rMm / half) * rings)) === ring);
    const different = new Set(inside.map(({ star }) => star)).size;
    if (different < fewestInRing) continue;
    const total = inside.reduce((sum, { weight }) => sum + weight, 0);
    const mean = inside.reduce((sum, { um, weight }) => sum + weight * um, 0) / total;
    const rMm = inside.reduce((sum, shift) => sum + shift.weight * shift.rMm, 0) / total;
    const byStar = new Map<number, number>();
    for (const { star, um, weight } of inside)
      byStar.set(star, (byStar.get(star) ?? 0) + weight * (um - mean));
    const squares = [...byStar.values()].reduce((sum, score) => sum + score * score, 0);
    const error = (Math.sqrt(squares) / total) * Math.sqrt(different / (different - 1));
    const reach = error * computeStudentQuantile(0.975, different - 1);
    profile.rMm.push(rMm);
    profile.radial.push(makeMeasured(mean, "um", mean - reach, mean + reach, different));
    profile.stars.push(different);
  }
  return profile;
}

/** a1 rho + a3 rho3 from the centre to the corner; the band is as wide at the corner as the interval given there. */
export function traceShiftCurve({ fit, lateral }: ShiftMeasure): ShiftCurve {
  const { design, coefficients, covariance, units } = fit;
  const at = (i: number, j: number) => covariance[i * design.columns + j];
  const hasCubic = design.cubic >= 0;
  const varianceAt = (rho: number): number =>
    at(design.radial, design.radial) * rho ** 2 +
    (hasCubic
      ? 2 * at(design.radial, design.cubic) * rho ** 4 + at(design.cubic, design.cubic) * rho ** 6
      : 0);
  const stretch = computeHalfWidth(lateral) / Math.sqrt(varianceAt(1));
  const curve: ShiftCurve = { rMm: [], um: [], loUm: [], hiUm: [] };
  for (let k = 0; k < curvePoints; k++) {
    const rho = k / (curvePoints - 1);
    const um = coefficients[design.radial] * rho + (hasCubic ? coefficients[design.cubic] * rho ** 3 : 0);
    const reach = stretch * Math.sqrt(varianceAt(rho));
    curve.rMm.push(rho * units.halfDiagonalMm);
    curve.um.push(um);
    curve.loUm.push(um - reach);
    curve.hiUm.push(um + reach);
  }
  return curve;
}
