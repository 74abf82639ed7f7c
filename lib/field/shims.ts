import { makeExact, makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import { computeMoves, type MoveRequest, type MoveResults } from "./moves.ts";

/** Where shims go when the record has no adjuster: three places on the bolt or thread circle of a 48 mm flange (assumed). */
const shimAngles = [90, 210, 330] as const;
export const FLANGE_RADIUS_MM = 24;

/** Thinnest step of shim stock that is commonly sold, um; common practice, no source. */
const foilUm = 10;

/**
 * The moves of a train without an adjuster: thicknesses of shims under the camera's flange at three places, none below
 * zero, so the thinnest is nothing. What `computeMoves` gives for three screws, opened only and rounded to 0.01 mm of
 * foil; the focus shifts outwards by the mean thickness. Null where the tilt has no sign or asks for nothing.
 */
export function computeShims(request: Omit<MoveRequest, "adjuster">): MoveResults | null {
  const screws = shimAngles.map((angleDeg) => ({ angleDeg, radiusMm: FLANGE_RADIUS_MM }));
  const plain = computeMoves({ ...request, adjuster: { screws, pitchMm: 1 } });
  if (plain === null || plain.advice !== "turn") return plain === null ? null : { ...plain, screws: [] };
  const moves = plain.screws.map(({ move }) => (move.value === null ? 0 : move.value));
  const least = Math.min(...moves);
  const thickness = moves.map((move) => foilUm * Math.round((move - least) / foilUm));
  const shift = thickness.reduce((sum, value) => sum + value, 0) / thickness.length;
  const places = shimAngles.map((angle, k) => `${thickness[k]} um at ${angle} degrees`).join(", ");
  return {
    ...plain,
    screws: plain.screws.map((screw, k) => ({
      angleDeg: screw.angleDeg,
      move: widen(screw.move, thickness[k]),
      turns: makeUnknown("turn", "There is no adjuster on record: these are shims, not screws."),
      setTurns: null,
    })),
    remainingTilt: findRest(request, thickness),
    sentence: `${plain.sentence.split(" Set to the nearest")[0]} There is no adjuster on record; shims under the camera's flange, taken as ${FLANGE_RADIUS_MM} mm from the axis, would do: ${places}. Refocus inwards by ${shift.toFixed(0)} um after it.`,
    focusShift: makeExact(shift, "um"),
    oneWay: null,
    oneWayFocusShift: null,
  };
}

function widen(move: Quantity, value: number): Quantity {
  if (move.value === null) return move;
  const half = (move.hi - move.lo) / 2;
  return makeMeasured(value, "um", Math.max(0, value - half), value + half, move.n);
}

/** Tilt left across the diagonal by shims of whole foils at three places 120 degrees apart. */
function findRest({ tilt, sensor }: Omit<MoveRequest, "adjuster">, thickness: readonly number[]): Quantity {
  const { tiltX, tiltY } = tilt;
  if (tiltX.value === null || tiltY.value === null) return makeUnknown("um", "The tilt is not known.");
  let [x, y] = [tiltX.value, tiltY.value];
  shimAngles.forEach((angleDeg, k) => {
    const angle = (angleDeg * Math.PI) / 180;
    x += (2 * thickness[k] * Math.cos(angle)) / (3 * FLANGE_RADIUS_MM);
    y += (2 * thickness[k] * Math.sin(angle)) / (3 * FLANGE_RADIUS_MM);
  });
  const diagonal = Math.hypot(sensor.widthMm, sensor.heightMm);
  const size = Math.hypot(x, y) * diagonal;
  const unsure = (Math.hypot(tiltX.hi - tiltX.lo, tiltY.hi - tiltY.lo) / 2) * diagonal;
  return makeMeasured(size, "um", Math.max(0, size - unsure), size + unsure, tiltX.n);
}
