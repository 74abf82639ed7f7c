import type { ComparedRing, Comparison } from "../report/results.ts";
import { compareRegion } from "./compare-sharpness.ts";
import { drawRings, type ReadSide, SIDE_SEEDS } from "./read-side.ts";
import type { SideStars } from "./side-stars.ts";

/** As many rings as some hundred stars fill with a dozen or more each; the page of a train has as many. */
const rings = 8;

/** Where a star lies from the centre, in the measure that the rings are cut by. */
type Place = (stars: SideStars, row: number) => number;

const placeOnSensor: Place = ({ placed }, row) => placed.places.rMm[row];

/** Angle of the chief ray from the axis, degrees, of a lens without distortion: atan(r / f). */
function toFieldAngle(rMm: number, focalLengthMm: number): number {
  return (Math.atan(rMm / focalLengthMm) * 180) / Math.PI;
}

const placeOnSky: Place = ({ placed, scale }, row) =>
  toFieldAngle(placed.places.rMm[row], scale.focalLengthMm);

function cutRings(stars: SideStars, place: Place, largest: number): Int32Array[] {
  const rows = Array.from({ length: rings }, (): number[] => []);
  for (let row = 0; row < stars.placed.places.rMm.length; row++) {
    const ring = Math.floor((place(stars, row) / largest) * rings);
    if (ring < rings) rows[ring].push(row);
  }
  return rows.map((list) => Int32Array.from(list));
}

function compareRings(
  a: ReadSide,
  b: ReadSide,
  place: Place,
  largest: number,
  unit: "mm" | "deg",
  seedShift: number,
): ComparedRing[] {
  if (a.stars === null || b.stars === null) return [];
  const [rowsA, rowsB] = [cutRings(a.stars, place, largest), cutRings(b.stars, place, largest)];
  const drawsA = drawRings(a, rowsA, SIDE_SEEDS.a + seedShift);
  const drawsB = drawRings(b, rowsB, SIDE_SEEDS.b + seedShift);
  return rowsA.map((rows, ring) => {
    const { underOneNight: _, ...compared } = compareRegion(a, b, drawsA[ring], drawsB[ring]);
    return {
      at: { value: ((ring + 0.5) / rings) * largest, unit },
      stars: { a: rows.length, b: rowsB[ring].length },
      ...compared,
    };
  });
}

/**
 * Both sides against field radius in eight rings: at equal distance from the sensor's centre (mm), and at equal angle
 * from the axis (degrees), each up to where the smaller field ends. Null where a side has no stars.
 */
export function compareCurves(a: ReadSide, b: ReadSide): Comparison["curves"] {
  if (a.stars === null || b.stars === null) return null;
  const radii = [a.stars.halfDiagonalMm, b.stars.halfDiagonalMm];
  const angles = [a.stars, b.stars].map(({ halfDiagonalMm, scale }) =>
    toFieldAngle(halfDiagonalMm, scale.focalLengthMm),
  );
  return {
    onSensor: compareRings(a, b, placeOnSensor, Math.min(...radii), "mm", 1000),
    onSky: compareRings(a, b, placeOnSky, Math.min(...angles), "deg", 2000),
  };
}
