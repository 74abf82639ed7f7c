import type { Optics } from "./conditions.ts";

/** Area common to two circles of radii `a` and `b` whose centres lie `distance` apart: elementary geometry. */
export function overlapCircles(a: number, b: number, distance: number): number {
  if (distance >= a + b) return 0;
  if (distance <= Math.abs(a - b)) return Math.PI * Math.min(a, b) ** 2;
  const angleA = Math.acos((distance ** 2 + a ** 2 - b ** 2) / (2 * distance * a));
  const angleB = Math.acos((distance ** 2 + b ** 2 - a ** 2) / (2 * distance * b));
  const kite = Math.sqrt(
    Math.max(0, (a + b - distance) * (distance + a - b) * (distance - a + b) * (distance + a + b)),
  );
  return a ** 2 * angleA + b ** 2 * angleB - kite / 2;
}

/**
 * Light at a field radius relative to the axis: cos4 of the chief ray's slope times, for each ring, the share of the
 * light cone's footprint (diameter d / N, centred on the chief ray) that lies within it. Rings are taken one by one and
 * multiplied, which is a little dark where two cut the same edge.
 */
export function computeRelativeLight(optics: Optics, radiusMm: number): number {
  const ratio = optics.focalLengthMm / optics.apertureMm;
  const slope = radiusMm / (optics.exitPupilMm ?? optics.focalLengthMm);
  let light = 1 / (1 + slope * slope) ** 2;
  for (const ring of optics.rings) {
    const footprint = ring.fromSensorMm / ratio / 2;
    const pupil = optics.exitPupilMm ?? Number.POSITIVE_INFINITY;
    const height = radiusMm * (1 - ring.fromSensorMm / pupil);
    light *=
      overlapCircles(footprint, ring.clearDiameterMm / 2, Math.abs(height)) / (Math.PI * footprint ** 2);
  }
  return light;
}

/** The same, looked up by squared radius: light changes slowly, so 512 steps serve to 1e-5. */
export function tabulateRelativeLight(optics: Optics, largestRadiusMm: number): (radius2: number) => number {
  const steps = 512;
  const values = new Float64Array(steps + 2);
  for (let i = 0; i < steps + 2; i++) {
    values[i] = computeRelativeLight(optics, largestRadiusMm * Math.sqrt(i / steps));
  }
  const scale = steps / largestRadiusMm ** 2;
  return (radius2) => {
    const at = Math.min(radius2 * scale, steps);
    const k = Math.floor(at);
    return values[k] + (values[k + 1] - values[k]) * (at - k);
  };
}
