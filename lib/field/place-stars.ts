import type { CombinedStars } from "../stars/combine-frames.ts";
import type { StarTable } from "../stars/star-table.ts";
import {
  computeHalfDiagonalMm,
  computeRadialComponent,
  locateOnSensor,
  type SensorGeometry,
} from "./geometry.ts";

/** Where the stars of a table lie on the sensor; columns as long as the table. */
export interface StarPlaces {
  xMm: Float64Array;
  yMm: Float64Array;
  rMm: Float64Array;
  rho: Float64Array;
  /** Component of (e1, e2) along the radius. */
  radial: Float64Array;
}

export function placeStars(stars: StarTable, geometry: SensorGeometry): StarPlaces {
  const n = stars.flags.length;
  const half = computeHalfDiagonalMm(geometry);
  const places: StarPlaces = {
    xMm: new Float64Array(n),
    yMm: new Float64Array(n),
    rMm: new Float64Array(n),
    rho: new Float64Array(n),
    radial: new Float64Array(n),
  };
  for (let row = 0; row < n; row++) {
    const { x, y } = locateOnSensor(geometry, stars.xPx[row], stars.yPx[row]);
    places.xMm[row] = x;
    places.yMm[row] = y;
    places.rMm[row] = Math.hypot(x, y);
    places.rho[row] = places.rMm[row] / half;
    places.radial[row] = computeRadialComponent(stars.e1[row], stars.e2[row], x, y);
  }
  return places;
}

/** Combined stars, where they lie, and where each frame's own stars lie: what every measure of the field starts from. */
export interface PlacedStars {
  combined: CombinedStars;
  geometry: SensorGeometry;
  places: StarPlaces;
  framePlaces: StarPlaces[];
}

export function placeCombined(combined: CombinedStars, geometry: SensorGeometry): PlacedStars {
  return {
    combined,
    geometry,
    places: placeStars(combined.stars, geometry),
    framePlaces: combined.frames.map((frame) => placeStars(frame, geometry)),
  };
}
