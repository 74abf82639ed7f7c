import { median } from "../maths/statistics.ts";
import type { Corner, TestResults } from "../report/results.ts";
import { corners } from "./words.ts";

/** Median of one quantity in the rings of one quadrant. */
export interface QuadrantRings {
  corner: Corner;
  /** Median field radius and value of each ring that holds enough stars. */
  points: { rMm: number; value: number; stars: number }[];
}

/** Rings of the quadrants are broader than those of the whole field, as each holds a quarter of the stars. */
const ringsPerQuadrant = 7;

/** Below this a median says little; chosen as the fewest stars of which one outlier is clearly outvoted. */
const fewestStars = 5;

/** Quadrant of a point; the axes belong to the upper and right ones. */
export function nameQuadrant(xMm: number, yMm: number): Corner {
  if (yMm >= 0) return xMm >= 0 ? "upperRight" : "upperLeft";
  return xMm >= 0 ? "lowerRight" : "lowerLeft";
}

type StarField = NonNullable<TestResults["starField"]>;

const known = new WeakMap<StarField, Float64Array>();

/** Field radius of each star, mm; every figure of a test asks for it. */
export function listRadiiMm(field: StarField): Float64Array {
  const before = known.get(field);
  if (before !== undefined) return before;
  const radii = Float64Array.from(field.xMm, (x, k) => Math.hypot(x, field.yMm[k]));
  known.set(field, radii);
  return radii;
}

/** Medians of a column of the star field in rings of equal width, quadrant by quadrant. */
export function sortIntoRings(
  test: TestResults,
  column: "fwhmUm" | "radial" | "ellipticity",
): QuadrantRings[] {
  const field = test.starField;
  const halfDiagonalMm = Math.hypot(test.sensor.widthMm, test.sensor.heightMm) / 2;
  const bins = corners.map(() =>
    Array.from({ length: ringsPerQuadrant }, () => ({ r: [] as number[], value: [] as number[] })),
  );
  const radii = field === null ? [] : listRadiiMm(field);
  for (let k = 0; field !== null && k < field.xMm.length; k++) {
    const value = field[column][k];
    const r = radii[k];
    if (!Number.isFinite(value) || !Number.isFinite(r)) continue;
    const ring = Math.min(ringsPerQuadrant - 1, Math.floor((r / halfDiagonalMm) * ringsPerQuadrant));
    const bin = bins[corners.indexOf(nameQuadrant(field.xMm[k], field.yMm[k]))][ring];
    bin.r.push(r);
    bin.value.push(value);
  }
  return corners.map((corner, quadrant) => ({
    corner,
    points: bins[quadrant]
      .filter(({ value }) => value.length >= fewestStars)
      .map(({ r, value }) => ({ rMm: median(r), value: median(value), stars: value.length })),
  }));
}
