import type { Corner, Zone } from "../report/results.ts";

/**
 * Where a frame's pixels lie on the sensor. A binned frame has a larger `umPerPx`; a crop lies off the sensor's
 * centre by `offsetMm`. The zones and `rho` are those of the whole sensor, so that a crop is never taken for a
 * sensor whose corners are better than they are.
 */
export interface SensorGeometry {
  /** Size of the frame, px as stored. */
  widthPx: number;
  heightPx: number;
  /** Side of one stored pixel on the sensor, um. */
  umPerPx: number;
  /** Centre of the frame from the sensor's centre, mm, x right and y up as displayed; zero where uncropped. */
  offsetMm: { x: number; y: number };
  /** The whole sensor, mm. */
  sensorWidthMm: number;
  sensorHeightMm: number;
}

/** Edges of the zones in rho (field radius over half-diagonal), as the contract of the results has them. */
export const ZONE_EDGES = { centre: 0.25, middle: 0.55, outer: 0.8 } as const;

export const CORNERS: readonly Corner[] = ["upperLeft", "upperRight", "lowerLeft", "lowerRight"];

/** All zones in the order in which tables list them. */
export const ZONES: readonly Zone[] = ["centre", "middle", "outer", "corner", ...CORNERS];

/** A frame that shows the whole sensor, `binning` x `binning` pixels to one. */
export function makeFullGeometry(
  widthPx: number,
  heightPx: number,
  pixelPitchUm: number,
  binning = 1,
): SensorGeometry {
  const umPerPx = pixelPitchUm * binning;
  return {
    widthPx,
    heightPx,
    umPerPx,
    offsetMm: { x: 0, y: 0 },
    sensorWidthMm: (widthPx * umPerPx) / 1000,
    sensorHeightMm: (heightPx * umPerPx) / 1000,
  };
}

/** Half the sensor's diagonal, mm: rho = 1. */
export function computeHalfDiagonalMm(geometry: SensorGeometry): number {
  return Math.hypot(geometry.sensorWidthMm, geometry.sensorHeightMm) / 2;
}

/** Millimetres from the sensor's centre (x right, y up) of a pixel position (centres at integers from 0, y down). */
export function locateOnSensor(geometry: SensorGeometry, xPx: number, yPx: number): { x: number; y: number } {
  const mmPerPx = geometry.umPerPx / 1000;
  return {
    x: geometry.offsetMm.x + (xPx - (geometry.widthPx - 1) / 2) * mmPerPx,
    y: geometry.offsetMm.y - (yPx - (geometry.heightPx - 1) / 2) * mmPerPx,
  };
}

/** The pixel position of a point given in millimetres; the inverse of `locateOnSensor`. */
export function locateOnFrame(geometry: SensorGeometry, xMm: number, yMm: number): { x: number; y: number } {
  const pxPerMm = 1000 / geometry.umPerPx;
  return {
    x: (geometry.widthPx - 1) / 2 + (xMm - geometry.offsetMm.x) * pxPerMm,
    y: (geometry.heightPx - 1) / 2 - (yMm - geometry.offsetMm.y) * pxPerMm,
  };
}

/** The quadrant in which a point lies; points on an axis go right and up. */
export function nameQuadrant(xMm: number, yMm: number): Corner {
  if (yMm >= 0) return xMm >= 0 ? "upperRight" : "upperLeft";
  return xMm >= 0 ? "lowerRight" : "lowerLeft";
}

/**
 * The zone of a point, one of the seven that do not overlap ("corner" is the four corner zones together).
 * A point on an edge goes inwards: rho = 0.25 is centre only below it, so 0.25 is middle, and 0.80 is outer.
 */
export function nameZone(rho: number, xMm: number, yMm: number): Exclude<Zone, "corner"> {
  if (rho < ZONE_EDGES.centre) return "centre";
  if (rho < ZONE_EDGES.middle) return "middle";
  if (rho <= ZONE_EDGES.outer) return "outer";
  return nameQuadrant(xMm, yMm);
}

/**
 * Component of the spin-2 pair (e1, e2) along the direction from the sensor's centre to (x, y): positive where the
 * long axis points away from the centre, negative where it lies across. At the centre itself the direction is +x.
 */
export function computeRadialComponent(e1: number, e2: number, xMm: number, yMm: number): number {
  const r2 = xMm * xMm + yMm * yMm;
  if (r2 === 0) return e1;
  return (e1 * (xMm * xMm - yMm * yMm) + e2 * 2 * xMm * yMm) / r2;
}
