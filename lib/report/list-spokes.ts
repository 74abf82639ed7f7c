import { computeHalfDiagonalMm, locateOnSensor, type SensorGeometry } from "../field/geometry.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import type { StarTable } from "../stars/star-table.ts";
import type { TestResults } from "./results.ts";

/** The row of the star at a pixel, within two px: the cut-out was centred on that star's own pixel. */
function findStarAt(stars: StarTable, xPx: number, yPx: number): number {
  let nearest = -1;
  let nearest2 = 4;
  for (let row = 0; row < stars.flags.length; row++) {
    const distance2 = (stars.xPx[row] - xPx) ** 2 + (stars.yPx[row] - yPx) ** 2;
    if (distance2 <= nearest2) [nearest, nearest2] = [row, distance2];
  }
  return nearest;
}

/** The cut-outs with the shape that was measured of their star in the frame they were cut from. */
export function listSpokes(
  measurement: TestMeasurement,
  geometry: SensorGeometry,
  channel: string,
): TestResults["spokes"] {
  const stars = measurement.frames[0]?.channels.find((part) => part.channel === channel)?.stars;
  if (stars === undefined || measurement.crops.length === 0) return null;
  const half = computeHalfDiagonalMm(geometry);
  const crops = measurement.crops.flatMap(({ halfDiagonal, file, xPx, yPx, sidePx }) => {
    const row = findStarAt(stars, xPx, yPx);
    if (row < 0) return [];
    const { x, y } = locateOnSensor(geometry, stars.xPx[row], stars.yPx[row]);
    const [major, minor] = [stars.fwhmMajorPx[row], stars.fwhmMinorPx[row]];
    if (!Number.isFinite(major + minor)) return [];
    return [
      {
        halfDiagonal,
        rho: Math.hypot(x, y) / half,
        rMm: Math.hypot(x, y),
        file,
        sidePx,
        fwhmPx: Math.sqrt(major * minor),
        ellipticity: 1 - minor / major,
        angleDeg: stars.angleDeg[row],
        xMm: x,
        yMm: y,
      },
    ];
  });
  return crops.length === 0 ? null : { crops };
}
