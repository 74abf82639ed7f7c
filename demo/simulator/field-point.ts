import type { FieldAberrations } from "./conditions.ts";

/** Focus of one field point: heights (um) of the tangential and sagittal foci, and where the meridian lies. */
export interface FieldPoint {
  /** Blurs along the radius by |z| / N across its diameter. */
  tangentialUm: number;
  /** Blurs across the radius. */
  sagittalUm: number;
  /** Direction from the centre of the aberrations to the point, radians counter-clockwise from +x, y up. */
  meridianRad: number;
  /** Coma at the rim, um of wavefront. */
  comaUm: number;
  sphericalUm: number;
}

/**
 * Evaluates the field model at (xMm, yMm): z = z0 + tx x + ty y + (c +- A) r2, tangential with plus, r2 about the
 * aberrations' own centre while the tilt is counted from the sensor's centre.
 */
export function evaluateField(field: FieldAberrations, xMm: number, yMm: number): FieldPoint {
  const dx = xMm - field.centreMm.x;
  const dy = yMm - field.centreMm.y;
  const r2 = dx * dx + dy * dy;
  const plane = field.defocusUm + field.tiltX * xMm + field.tiltY * yMm;
  return {
    tangentialUm: plane + (field.curvature + field.astigmatism) * r2,
    sagittalUm: plane + (field.curvature - field.astigmatism) * r2,
    meridianRad: Math.atan2(dy, dx),
    comaUm: (field.comaUmPerMm ?? 0) * Math.sqrt(r2),
    sphericalUm: field.sphericalUm ?? 0,
  };
}
