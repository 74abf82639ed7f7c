import { median } from "../maths/statistics.ts";
import type { Profile } from "../stars/profile.ts";
import type { StarShape } from "../stars/star-model.ts";
import type { StarTable } from "../stars/star-table.ts";

/** Half-maximum shape that the stars about a place have in common, on the pixel grid (y down). */
export interface LocalShape {
  /** Geometric mean of the half-widths, px. */
  halfWidthPx: number;
  e1: number;
  e2: number;
}

/** Enough that no single star's noise is seen, near enough to follow a field (chosen). */
const neighbours = 30;

/** Medians of width and ellipticity over the 30 of `rows` that stand nearest to a place. */
export function readLocalShape(
  stars: StarTable,
  rows: readonly number[],
  xPx: number,
  yPx: number,
): LocalShape {
  const away = (row: number): number => (stars.xPx[row] - xPx) ** 2 + (stars.yPx[row] - yPx) ** 2;
  const nearest = [...rows].sort((a, b) => away(a) - away(b)).slice(0, neighbours);
  const read = (pick: (row: number) => number): number => median(nearest.map(pick));
  return {
    halfWidthPx: read((row) => Math.sqrt(stars.fwhmMajorPx[row] * stars.fwhmMinorPx[row]) / 2),
    e1: read((row) => stars.e1[row]),
    e2: -read((row) => stars.e2[row]),
  };
}

/** A star of that shape and of `flux` at (x, y), without background. */
export function placeStar(
  shape: LocalShape,
  profile: Profile,
  flux: number,
  x: number,
  y: number,
): StarShape {
  const { halfWidthPx, e1, e2 } = shape;
  // The tensor of squared half-widths is h2 (1 + e1, e2; e2, 1 - e1) / n with n keeping its determinant h4.
  const scale = 1 / (halfWidthPx ** 2 * Math.sqrt(1 - e1 * e1 - e2 * e2));
  return {
    x,
    y,
    peak: flux / (profile.area * halfWidthPx ** 2),
    qxx: (1 - e1) * scale,
    qxy: -e2 * scale,
    qyy: (1 + e1) * scale,
    background: 0,
  };
}
