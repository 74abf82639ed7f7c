import { type Circle, intersectCircles } from "./intersect-circles.ts";

/** A ring, filter cell or nosepiece with a known clear diameter. */
export interface Aperture {
  part: string;
  clearDiameterMm: number;
  /** Distance from the sensor of the part's far end, which is where it limits a converging beam. */
  fromSensorMm: number;
  /** Its middle off the sensor's, mm, x right and y up as displayed. */
  offsetMm: { x: number; y: number };
}

/** The light that comes to a point of the sensor. */
export interface Beam {
  /** Focal ratio as used, corrector included. */
  focalRatio: number;
  /** Central obstruction over the aperture, 0 to below 1. */
  obstruction: number;
  /** Exit pupil to sensor; null: telecentric, every chief ray square to the sensor. */
  exitPupilMm: number | null;
}

/**
 * An aperture as seen in the pupil from a point of the sensor: pupil coordinates with the pupil's edge at radius 1.
 * A ray through the pupil at u passes the plane at distance d at h (1 - d / L) + u d / (2 N).
 */
function projectToPupil(aperture: Aperture, beam: Beam, point: { x: number; y: number }): Circle {
  const d = aperture.fromSensorMm;
  const shrink = beam.exitPupilMm === null ? 1 : 1 - d / beam.exitPupilMm;
  const scale = (2 * beam.focalRatio) / d;
  return {
    x: (aperture.offsetMm.x - point.x * shrink) * scale,
    y: (aperture.offsetMm.y - point.y * shrink) * scale,
    radius: (aperture.clearDiameterMm / 2) * scale,
  };
}

/**
 * Share of the pupil's light, 0 to 1, that all the apertures together let through to a point of the sensor (mm from its
 * centre): the area of the pupil seen through all of them at once, not the product of what each would leave. The pupil is
 * evenly lit; a central obstruction is taken out of it. An aperture in the sensor's plane (distance 0) either passes the
 * point or does not.
 *
 * Source: footprint of diameter d / N about the chief ray's height h (1 - d / L); areas by elementary geometry.
 */
export function computeLightShare(
  beam: Beam,
  apertures: readonly Aperture[],
  point: { x: number; y: number },
): number {
  const inPlane = apertures.filter(({ fromSensorMm }) => !(fromSensorMm > 0));
  for (const { clearDiameterMm, offsetMm } of inPlane) {
    if (Math.hypot(point.x - offsetMm.x, point.y - offsetMm.y) > clearDiameterMm / 2) return 0;
  }
  const circles = apertures
    .filter(({ fromSensorMm }) => fromSensorMm > 0)
    .map((aperture) => projectToPupil(aperture, beam, point));
  const within = (radius: number) => intersectCircles([{ x: 0, y: 0, radius }, ...circles]);
  const { obstruction } = beam;
  const open = within(1) - (obstruction > 0 ? within(obstruction) : 0);
  return Math.min(1, Math.max(0, open / (Math.PI * (1 - obstruction ** 2))));
}

/**
 * Mean over the sensor's four corners of the share that the apertures leave; with `fraction`, at that part of the way
 * from the centre to each. Where no part is off centre the four are alike by symmetry, and one is computed.
 */
export function computeCornerShare(
  beam: Beam,
  apertures: readonly Aperture[],
  sensor: { widthMm: number; heightMm: number },
  fraction = 1,
): number {
  const centred = apertures.every(({ offsetMm }) => offsetMm.x === 0 && offsetMm.y === 0);
  const corners = centred ? listCornerPoints(sensor).slice(0, 1) : listCornerPoints(sensor);
  const shares = corners.map(({ point }) =>
    computeLightShare(beam, apertures, { x: point.x * fraction, y: point.y * fraction }),
  );
  return shares.reduce((sum, share) => sum + share, 0) / shares.length;
}

/** The very corners, mm from the sensor's centre. */
export function listCornerPoints(sensor: { widthMm: number; heightMm: number }) {
  const [x, y] = [sensor.widthMm / 2, sensor.heightMm / 2];
  return [
    { corner: "upperLeft", point: { x: -x, y } },
    { corner: "upperRight", point: { x, y } },
    { corner: "lowerLeft", point: { x: -x, y: -y } },
    { corner: "lowerRight", point: { x, y: -y } },
  ] as const;
}
