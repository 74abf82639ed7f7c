import { computeHalfDiagonalMm, locateOnSensor, type SensorGeometry } from "../field/geometry.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import type { StarTable } from "../stars/star-table.ts";
import type { TestResults } from "./results.ts";

/** A cut-out was centred on its star's own pixel, so that the star lies within so many px of it. */
const farthestPx = 2;

/** Square cells of the reach's size, by which a star is told to be near a place or not without a distance to each. */
const nameCell = (column: number, row: number) => column * 65_536 + row;
const countCells = (px: number) => Math.floor(px / farthestPx);

/** The row of the star nearest to each place within the reach; -1 where there is none. */
function findStarsAt(stars: StarTable, places: readonly { xPx: number; yPx: number }[]): number[] {
  const near = new Map<number, number[]>();
  places.forEach(({ xPx, yPx }, k) => {
    for (let dx = -1; dx <= 1; dx++) {
      for (let dy = -1; dy <= 1; dy++) {
        const cell = nameCell(countCells(xPx) + dx, countCells(yPx) + dy);
        near.set(cell, [...(near.get(cell) ?? []), k]);
      }
    }
  });
  const rows = places.map(() => -1);
  const least = places.map(() => farthestPx ** 2);
  for (let row = 0; row < stars.flags.length; row++) {
    const [x, y] = [stars.xPx[row], stars.yPx[row]];
    for (const k of near.get(nameCell(countCells(x), countCells(y))) ?? []) {
      const distance2 = (x - places[k].xPx) ** 2 + (y - places[k].yPx) ** 2;
      if (distance2 <= least[k]) [rows[k], least[k]] = [row, distance2];
    }
  }
  return rows;
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
  const rows = findStarsAt(stars, measurement.crops);
  const crops = measurement.crops.flatMap(({ halfDiagonal, file, sidePx }, k) => {
    const row = rows[k];
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
