/**
 * A plane-parallel plate of glass (filter, sensor window) in a converging beam: W. J. Smith, Modern Optical Engineering,
 * 4th ed. (2008), fig. 7.14. Lengths come out in the unit of the thickness.
 */

/** How far the plate moves the focus away from the lens, for rays near the axis: t (1 - 1/n). */
export function computePlateShift(thickness: number, index: number): number {
  return thickness * (1 - 1 / index);
}

/**
 * Half-angle of the cone of light at a focal ratio, in radians: sin U = 1 / (2 N), as a lens free of coma has it
 * (Abbe's sine condition).
 */
export function computeConeAngle(focalRatio: number): number {
  return Math.asin(1 / (2 * focalRatio));
}

/** The same shift for the ray at the edge of the aperture, exact: t (1 - tan U' / tan U), sin U' = sin U / n. */
export function computeMarginalPlateShift(thickness: number, index: number, focalRatio: number): number {
  const angle = computeConeAngle(focalRatio);
  const inside = Math.asin(Math.sin(angle) / index);
  return thickness * (1 - Math.tan(inside) / Math.tan(angle));
}

/** Longitudinal spherical aberration that the plate adds: edge-ray shift less near-axis shift; positive: edge rays focus farther out. */
export function computePlateSpherical(thickness: number, index: number, focalRatio: number): number {
  return computeMarginalPlateShift(thickness, index, focalRatio) - computePlateShift(thickness, index);
}

/** Third-order form of the same: t u^2 (n^2 - 1) / (2 n^3), with u = sin U = 1 / (2 N). */
export function computePlateSphericalThirdOrder(
  thickness: number,
  index: number,
  focalRatio: number,
): number {
  const u = 1 / (2 * focalRatio);
  return (thickness * u * u * (index * index - 1)) / (2 * index ** 3);
}

/** Spherical aberration of the wavefront at the edge of the pupil, W040 = t (n^2 - 1) u^4 / (8 n^3), in the unit of t. */
export function computePlateWavefront(thickness: number, index: number, focalRatio: number): number {
  const u = 1 / (2 * focalRatio);
  return (thickness * (index * index - 1) * u ** 4) / (8 * index ** 3);
}

/** Sideways shift of the image by a plate tilted by an angle in radians: t sin(a) (1 - cos(a) / sqrt(n^2 - sin^2(a))). */
export function computeTiltedPlateOffset(thickness: number, index: number, tilt: number): number {
  const root = Math.sqrt(index * index - Math.sin(tilt) ** 2);
  return thickness * Math.sin(tilt) * (1 - Math.cos(tilt) / root);
}

/** Size of the astigmatism (distance between the two line foci) of a plate tilted by an angle in radians, exact. */
export function computeTiltedPlateAstigmatism(thickness: number, index: number, tilt: number): number {
  const square = index * index - Math.sin(tilt) ** 2;
  return (thickness / Math.sqrt(square)) * (1 - (index * index * Math.cos(tilt) ** 2) / square);
}
