import { makeExact, makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import { stateRemainder } from "../maths/state-quantity.ts";
import type { ShimPlaces } from "../records/types.ts";
import { chooseShims, restPlate } from "./choose-shims.ts";
import { computeMoves, type MoveRequest, type MoveResults } from "./moves.ts";

/** Distance from the axis of shims under the camera's flange where the record says nothing: a 48 mm flange (assumed). */
export const FLANGE_RADIUS_MM = 24;

/** Where shims go when the record has no adjuster: three places on the bolt or thread circle of that flange. */
const assumedPlaces: ShimPlaces = {
  shims: [90, 210, 330].map((angleDeg) => ({ angleDeg, radiusMm: FLANGE_RADIUS_MM })),
  thicknessesMm: [],
};

/**
 * The moves of a train that is levelled with shims: what to lay at each place of the flange, from the shims at hand (or
 * whole hundredths of a millimetre), so that the plate that rests on them lies along the focal surface. What
 * `computeMoves` wants of screws at these places, lifted so that nothing is below zero. The focus shifts outwards by the
 * plate's height at the axis. `adjuster` null: three places are assumed, and said.
 */
export function computeShims(
  request: Omit<MoveRequest, "adjuster"> & { adjuster: ShimPlaces | null },
): MoveResults | null {
  const { tilt, sensor } = request;
  const { shims, thicknessesMm } = request.adjuster ?? assumedPlaces;
  const plain = computeMoves({ ...request, adjuster: { screws: shims, pitchMm: 1 } });
  if (plain === null || plain.advice !== "turn") {
    return plain === null ? null : { ...plain, sentence: sayShims(plain.sentence), screws: [], shims: null };
  }
  const places = shims.map(({ angleDeg, radiusMm }, k) => ({
    x: radiusMm * Math.cos((angleDeg * Math.PI) / 180),
    y: radiusMm * Math.sin((angleDeg * Math.PI) / 180),
    wantedUm: plain.screws[k].move.value ?? 0,
  }));
  const laid = chooseShims(
    places,
    thicknessesMm.map((thickness) => 1000 * thickness),
  );
  const plate = restPlate(places, laid);
  const diagonal = Math.hypot(sensor.widthMm, sensor.heightMm);
  const left = Math.hypot((tilt.tiltX.value ?? 0) + plate.x, (tilt.tiltY.value ?? 0) + plate.y) * diagonal;
  const unsure = Math.hypot(halfWidth(tilt.tiltX), halfWidth(tilt.tiltY)) * diagonal;
  const listed = shims.map(({ angleDeg, radiusMm }, k) => ({ angleDeg, radiusMm, ...laid[k] }));
  const where = request.adjuster === null ? assumedWords : "Lay shims under the flange: ";
  const rest = plate.shift >= 0.5 ? ` Refocus inwards by ${plate.shift.toFixed(0)} um after it.` : "";
  return {
    ...plain,
    screws: plain.screws.map((screw, k) => ({
      angleDeg: screw.angleDeg,
      move: widen(screw.move, laid[k].thicknessUm),
      turns: makeUnknown("turn", "These are shims, not screws."),
      setTurns: null,
    })),
    remainingTilt: makeMeasured(left, "um", Math.max(0, left - unsure), left + unsure, countOf(tilt.tiltX)),
    sentence: `${plain.sentence.split(" Set to the nearest")[0]} ${where}${listed.map(sayPlace).join(", ")}. That leaves ${stateRemainder(left)} of tilt.${rest}`,
    focusShift: makeExact(plate.shift, "um"),
    oneWay: null,
    oneWayFocusShift: null,
    shims: listed,
  };
}

const assumedWords = `There is no adjuster on record; shims under the camera's flange, taken as ${FLANGE_RADIUS_MM} mm from the axis, would do: `;

function sayPlace(place: { angleDeg: number; thicknessUm: number; madeOfUm: readonly number[] }): string {
  const { angleDeg, thicknessUm, madeOfUm } = place;
  if (thicknessUm === 0) return `nothing at ${angleDeg} degrees`;
  const made = madeOfUm.length > 1 ? ` (${madeOfUm.join(" + ")})` : "";
  return `${thicknessUm} um${made} at ${angleDeg} degrees`;
}

function sayShims(sentence: string): string {
  return sentence
    .replace("leave the screws alone", "leave the flange as it is")
    .replace("nothing to turn", "nothing to shim");
}

function halfWidth(quantity: Quantity): number {
  return quantity.value === null ? 0 : (quantity.hi - quantity.lo) / 2;
}

function countOf(quantity: Quantity): number {
  return quantity.value === null ? 1 : quantity.n;
}

function widen(move: Quantity, value: number): Quantity {
  if (move.value === null) return move;
  const half = (move.hi - move.lo) / 2;
  return makeMeasured(value, "um", Math.max(0, value - half), value + half, move.n);
}
