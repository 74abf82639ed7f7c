import { factorCholesky, invertCholesky, solveCholesky } from "../maths/linear.ts";
import { huberLimit } from "../maths/robust-fit.ts";
import { median } from "../maths/statistics.ts";
import { type FieldMap, MAP_PARAMETERS, type MapFrame, makeMapper } from "./field-map.ts";
import { fitSimilarity } from "./similarity.ts";

/** Common stars: where each lies on a and on b, mm, and the uncertainty of the difference, mm, along each axis. */
export interface CommonStars {
  a: { x: Float64Array; y: Float64Array };
  b: { x: Float64Array; y: Float64Array };
  error: Float64Array;
}

export interface FittedMap {
  map: FieldMap;
  /** One-sigma uncertainties, the stars' scatter about the map counted in. */
  errors: FieldMap;
  /** Uncertainty of distortionB - distortionA: the two alone are hardly told apart where both look at one place. */
  distortionError: number;
  /** Root of the mean square distance from the map along each axis, mm on b, robust. */
  residualMm: number;
}

/**
 * What is believed before any star is looked at, one sigma about 0: distortion of a percent in the corner, stretch of
 * 0.1 percent (refraction compresses a field by 0.03 to 0.1 percent down to 30 degrees of altitude). Wide against real
 * trains; they matter only where few stars leave these terms open, and then widen the interval of the ratio honestly.
 */
const priors: Partial<Record<keyof FieldMap, number>> = {
  distortionA: 0.01,
  distortionB: 0.01,
  stretchAlong: 0.001,
  stretchAcross: 0.001,
};
/** Steps of the numeric derivatives: small against the field, large against rounding. */
const step = 1e-6;
const mostRounds = 30;

function startMap(stars: CommonStars, frame: MapFrame): FieldMap | null {
  const from = frame.mirrored ? { x: stars.a.x.map((x) => -x), y: stars.a.y } : stars.a;
  const similarity = fitSimilarity(
    from,
    stars.b,
    Array.from(from.x.keys(), (row): [number, number] => [row, row]),
  );
  if (similarity === null) return null;
  const { real, imaginary, shiftX, shiftY } = similarity;
  const ratio = Math.hypot(real, imaginary);
  const turn = Math.atan2(imaginary, real);
  // The shift turned back and as an angle on the sky.
  const span = ratio * frame.focalLengthMm;
  const u = (Math.cos(turn) * shiftX + Math.sin(turn) * shiftY) / span;
  const v = (-Math.sin(turn) * shiftX + Math.cos(turn) * shiftY) / span;
  return {
    ratio,
    turn,
    tiltX: -Math.atan(v),
    tiltY: Math.atan(u),
    distortionA: 0,
    distortionB: 0,
    stretchAlong: 0,
    stretchAcross: 0,
  };
}

const size = MAP_PARAMETERS.length;

function changeMap(map: FieldMap, changes: ArrayLike<number>): FieldMap {
  const changed = { ...map };
  MAP_PARAMETERS.forEach((name, k) => {
    changed[name] += changes[k];
  });
  return changed;
}

function listResiduals(map: FieldMap, frame: MapFrame, stars: CommonStars): Float64Array {
  const residuals = new Float64Array(2 * stars.error.length);
  const locate = makeMapper(map, frame);
  for (let row = 0; row < stars.error.length; row++) {
    const [x, y] = locate(stars.a.x[row], stars.a.y[row]);
    residuals[2 * row] = (stars.b.x[row] - x) / stars.error[row];
    residuals[2 * row + 1] = (stars.b.y[row] - y) / stars.error[row];
  }
  return residuals;
}

/** Normal equations of one Gauss-Newton step: J^T W J, and J^T W r, with the priors added. */
function makeNormal(
  map: FieldMap,
  frame: MapFrame,
  stars: CommonStars,
  residuals: Float64Array,
  scale: number,
) {
  const slopes = MAP_PARAMETERS.map((_, k) => {
    const changes = new Float64Array(size);
    changes[k] = step;
    const moved = listResiduals(changeMap(map, changes), frame, stars);
    for (let i = 0; i < moved.length; i++) moved[i] = (residuals[i] - moved[i]) / step;
    return moved;
  });
  const matrix = new Float64Array(size * size);
  const right = new Float64Array(size);
  const weights = residuals.map((value) => Math.min(1, (huberLimit * scale) / Math.abs(value)) / scale ** 2);
  for (let k = 0; k < size; k++) {
    for (let i = 0; i < residuals.length; i++) right[k] += weights[i] * slopes[k][i] * residuals[i];
    for (let l = 0; l <= k; l++) {
      let sum = 0;
      for (let i = 0; i < residuals.length; i++) sum += weights[i] * slopes[k][i] * slopes[l][i];
      matrix[k * size + l] = sum;
    }
  }
  MAP_PARAMETERS.forEach((name, k) => {
    const prior = priors[name];
    if (prior === undefined) return;
    matrix[k * size + k] += 1 / prior ** 2;
    right[k] -= map[name] / prior ** 2;
  });
  for (let k = 0; k < size; k++) for (let l = 0; l < k; l++) matrix[l * size + k] = matrix[k * size + l];
  return { matrix, right };
}

/** Robust scale of residuals in units of their stated errors. Taken at least as 0.3: errors are never that pessimistic. */
function estimateScale(residuals: Float64Array): number {
  const free = Math.max(1, residuals.length - 4);
  const small = Math.sqrt(residuals.length / free);
  return Math.max(0.3, 1.4826 * median(residuals.map(Math.abs)) * small);
}

/**
 * Fits the map to common stars: Gauss-Newton with Huber's weights (Huber 1981, Robust Statistics, ch. 7), the scatter
 * about the map giving the errors. Null for fewer than three stars or where they determine no map.
 *
 * A handful of stars tells the scatter badly: the caller's interval should use Student's t at 2 n - 4 degrees.
 */
export function fitFieldMap(stars: CommonStars, frame: MapFrame): FittedMap | null {
  if (stars.error.length < 3) return null;
  let map = startMap(stars, frame);
  if (map === null) return null;
  let covariance: Float64Array | null = null;
  for (let round = 0; round < mostRounds; round++) {
    const residuals = listResiduals(map, frame, stars);
    const { matrix, right } = makeNormal(map, frame, stars, residuals, estimateScale(residuals));
    const factor = factorCholesky(matrix, size);
    if (factor === null) return null;
    const change = solveCholesky(factor, right);
    map = changeMap(map, change);
    covariance = invertCholesky(factor, size);
    const settled = change.every(
      (value, k) => Math.abs(value) < 1e-3 * Math.sqrt(covariance?.[k * size + k] ?? 0),
    );
    if (settled) break;
  }
  if (covariance === null || !Number.isFinite(map.ratio)) return null;
  const spread = covariance;
  const errors = { ...map };
  MAP_PARAMETERS.forEach((name, k) => {
    errors[name] = Math.sqrt(spread[k * size + k]);
  });
  const [k, l] = [MAP_PARAMETERS.indexOf("distortionA"), MAP_PARAMETERS.indexOf("distortionB")];
  const variance = spread[k * size + k] + spread[l * size + l] - 2 * spread[k * size + l];
  const distances = listResiduals(map, frame, stars).map((value, i) => Math.abs(value * stars.error[i >> 1]));
  return {
    map,
    errors,
    distortionError: Math.sqrt(Math.max(0, variance)),
    residualMm: 1.4826 * median(distances),
  };
}
