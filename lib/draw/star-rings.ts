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

/** Medians of a column of the star field in rings of equal width, quadrant by quadrant. */
export function sortIntoRings(
  test: TestResults,
  column: "fwhmUm" | "radial" | "ellipticity",
): QuadrantRings[] {
  const field = test.starField;
  const halfDiagonalMm = Math.hypot(test.sensor.widthMm, test.sensor.heightMm) / 2;
  const bins = new Map<string, { r: number[]; value: number[] }>();
  for (let k = 0; field !== null && k < field.xMm.length; k++) {
    const value = field[column][k];
    const r = Math.hypot(field.xMm[k], field.yMm[k]);
    if (!Number.isFinite(value) || !Number.isFinite(r)) continue;
    const ring = Math.min(ringsPerQuadrant - 1, Math.floor((r / halfDiagonalMm) * ringsPerQuadrant));
    const key = `${nameQuadrant(field.xMm[k], field.yMm[k])} ${ring}`;
    const bin = bins.get(key) ?? { r: [], value: [] };
    bin.r.push(r);
    bin.value.push(value);
    bins.set(key, bin);
  }
  return corners.map((corner) => ({
    corner,
    points: Array.from({ length: ringsPerQuadrant }, (_, ring) => bins.get(`${corner} ${ring}`))
      .filter((bin) => bin !== undefined && bin.value.length >= fewestStars)
      .map((bin) => ({ rMm: median(bin!.r), value: median(bin!.value), stars: bin!.value.length })),
  }));
}
