import { fitLeastSquares } from "../maths/least-squares.ts";
import { fitSimilarity } from "./similarity.ts";

/** A smooth map of the plane: polynomials of both coordinates in x and y, counted from a middle in units of a span. */
export interface PlaneMap {
  degree: number;
  middleX: number;
  middleY: number;
  span: number;
  u: ArrayLike<number>;
  v: ArrayLike<number>;
}

interface Points {
  x: ArrayLike<number>;
  y: ArrayLike<number>;
}

/** 1, x, y, x2, xy, y2, ...: the terms up to a degree. */
function listTerms(x: number, y: number, degree: number): number[] {
  const terms: number[] = [];
  for (let order = 0; order <= degree; order++) {
    for (let power = 0; power <= order; power++) terms.push(x ** (order - power) * y ** power);
  }
  return terms;
}

export function movePoint(map: PlaneMap, x: number, y: number): [number, number] {
  const terms = listTerms((x - map.middleX) / map.span, (y - map.middleY) / map.span, map.degree);
  let [u, v] = [0, 0];
  for (let k = 0; k < terms.length; k++) {
    u += map.u[k] * terms[k];
    v += map.v[k] * terms[k];
  }
  return [u, v];
}

/** Pairs from which on terms of a degree are let in: several stars to each coefficient, spread over the field. */
const pairsForDegree = [0, 12, 30, 60] as const;

/**
 * The map that brings points to their partners in the sense of least squares; a similarity for few pairs, then affine,
 * quadratic and cubic, which takes in the distortion of any usual optics. Null where the pairs do not determine it.
 */
export function fitPlaneMap(
  from: Points,
  to: Points,
  pairs: readonly (readonly [number, number])[],
): PlaneMap | null {
  const similarity = fitSimilarity(from, to, pairs);
  if (similarity === null) return null;
  const { real, imaginary, shiftX, shiftY } = similarity;
  const simple: PlaneMap = {
    degree: 1,
    middleX: 0,
    middleY: 0,
    span: 1,
    u: [shiftX, real, -imaginary],
    v: [shiftY, imaginary, real],
  };
  const degree = pairsForDegree.findLastIndex((least) => pairs.length >= least);
  if (degree < 1) return simple;
  const xs = pairs.map(([i]) => from.x[i]);
  const ys = pairs.map(([i]) => from.y[i]);
  const middleX = xs.reduce((sum, x) => sum + x, 0) / xs.length;
  const middleY = ys.reduce((sum, y) => sum + y, 0) / ys.length;
  const span = Math.max(...xs.map((x, k) => Math.hypot(x - middleX, ys[k] - middleY)));
  const rows = xs.map((x, k) => listTerms((x - middleX) / span, (ys[k] - middleY) / span, degree));
  const columns = rows[0].length;
  const design = Float64Array.from(rows.flat());
  const u = fitLeastSquares(
    design,
    pairs.map(([, j]) => to.x[j]),
    columns,
  );
  const v = fitLeastSquares(
    design,
    pairs.map(([, j]) => to.y[j]),
    columns,
  );
  if (u === null || v === null) return simple;
  return { degree, middleX, middleY, span, u: u.coefficients, v: v.coefficients };
}
