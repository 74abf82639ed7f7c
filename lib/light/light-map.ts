import type { LightMap } from "./flat-measurement.ts";
import { findInterval, writeCubicWeights } from "./spline-basis.ts";

/** Value of the radial curve at a radius, mm; beyond its last knot it goes on straight from there. */
export function evaluateRadial(radial: ArrayLike<number>, stepMm: number, rMm: number): number {
  const weights = new Float64Array(4);
  const { first, t } = findInterval(rMm / stepMm, radial.length - 3);
  writeCubicWeights(Math.min(t, 1), weights);
  let value = 0;
  for (let k = 0; k < 4; k++) value += weights[k] * radial[first + k];
  if (t <= 1) return value;
  const n = radial.length;
  return value + ((t - 1) * (radial[n - 1] - radial[n - 3])) / 2;
}

/** A function that yields the light of a map at a point, mm from the sensor's centre; shared scratch, so not re-entrant. */
export function makeLightReader(map: LightMap): (xMm: number, yMm: number) => number {
  const { mesh, centre, gradient } = map;
  const across = new Float64Array(4);
  const up = new Float64Array(4);
  return (x, y) => {
    const radial = evaluateRadial(map.radial, map.radialStepMm, Math.hypot(x - centre.x, y - centre.y));
    const base = (1 + gradient.x * x + gradient.y * y) * radial;
    const column = findInterval((x - mesh.leftMm) / mesh.stepMm, mesh.columns - 3);
    const row = findInterval((y - mesh.lowerMm) / mesh.stepMm, mesh.rows - 3);
    writeCubicWeights(Math.min(1, Math.max(0, column.t)), across);
    writeCubicWeights(Math.min(1, Math.max(0, row.t)), up);
    let rest = 0;
    for (let j = 0; j < 4; j++) {
      const at = (row.first + j) * mesh.columns + column.first;
      for (let i = 0; i < 4; i++) rest += up[j] * across[i] * mesh.values[at + i];
    }
    return base + rest;
  };
}
