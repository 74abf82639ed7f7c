import { fitLeastSquares } from "../maths/least-squares.ts";
import { nameSide } from "../maths/name-side.ts";
import { makeExact, makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import { isKnown, stateQuantity, stateRemainder } from "../maths/state-quantity.ts";
import type { Adjuster } from "../records/types.ts";
import type { Corner, TestResults } from "../report/results.ts";
import { CORNERS } from "./geometry.ts";
import { chooseTestOffset, type TestOffset } from "./test-offset.ts";

export type MoveResults = NonNullable<TestResults["moves"]>;

/** What the moves follow from: the gradient of the focal surface over the sensor, um/mm. */
export interface TiltForMoves {
  tiltX: Quantity;
  tiltY: Quantity;
  /** Its size across the diagonal, um: known even where the sign is not. */
  across: Quantity;
  /** False: tilt and its opposite fit the stars alike. */
  signKnown: boolean;
  from: "sweep" | "field";
}

export interface MoveRequest {
  tilt: TiltForMoves;
  adjuster: Adjuster;
  sensor: { widthMm: number; heightMm: number };
  /** The tilt across the diagonal that the record allows, um; undefined where it says nothing. */
  allowedUm: number | undefined;
  /** For the frame that would tell the sign. */
  focalRatio: number;
  obstruction: number;
  /** Width of a star in focus, um; null where it is not known. */
  widthUm: number | null;
}

/** What a hand can set with a mark on the screw's head, turns: 15 degrees (chosen). */
export const HAND_STEP_TURNS = 1 / 24;

/**
 * How far each screw moves the plate so that the sensor comes to lie along the focal surface's plane, the sensor's centre
 * keeping its focus: minus the height of that plane at the screw, -R (tx cos a + ty sin a). Positive widens the gap,
 * away from the telescope, as positions of the focuser count. For any number of screws; with all of them on one line
 * only the tilt along that line can be taken out.
 *
 * `remainingTilt` is what stays across the diagonal once every screw is set to the nearest 15 degrees; its interval adds
 * what is not known of the tilt. Where the sign is not known there are no moves but the way to find it, or the word that
 * it need not be found, as the tilt is within what the record allows whatever its sign.
 */
export function computeMoves(request: MoveRequest): MoveResults | null {
  const { tilt, adjuster, sensor } = request;
  if (adjuster.screws.length === 0) return null;
  const diagonal = Math.hypot(sensor.widthMm, sensor.heightMm);
  const { tiltX, tiltY } = tilt;
  if (!tilt.signKnown || tiltX.value === null || tiltY.value === null) return refuse(request);
  const places = adjuster.screws.map(({ angleDeg, radiusMm }) => ({
    angleDeg,
    x: radiusMm * Math.cos((angleDeg * Math.PI) / 180),
    y: radiusMm * Math.sin((angleDeg * Math.PI) / 180),
  }));
  const line = findCommonLine(places);
  const [gx, gy] = line === null ? [tiltX.value, tiltY.value] : projectOn(line, tiltX.value, tiltY.value);
  const [halfX, halfY] = [halfWidth(tiltX), halfWidth(tiltY)];
  const pitchUm = adjuster.pitchMm * 1000;
  const screws = places.map(({ angleDeg, x, y }) => {
    const move = tidy(-(gx * x + gy * y));
    const reach = Math.hypot(halfX * x, halfY * y);
    const n = tiltX.value === null ? 1 : tiltX.n;
    return {
      angleDeg,
      move: makeMeasured(move, "um", move - reach, move + reach, n),
      turns: makeMeasured(move / pitchUm, "turn", (move - reach) / pitchUm, (move + reach) / pitchUm, n),
      setTurns: tidy(Math.round(move / pitchUm / HAND_STEP_TURNS) * HAND_STEP_TURNS),
    };
  });
  const set = screws.map(({ setTurns }) => setTurns * pitchUm);
  const reached = line === null ? fitPlane(places, set) : fitLine(places, set, line);
  const left = { x: tiltX.value + reached.x, y: tiltY.value + reached.y };
  const size = Math.hypot(left.x, left.y) * diagonal;
  const unsure = Math.hypot(halfX, halfY) * diagonal;
  const remainingTilt = makeMeasured(size, "um", Math.max(0, size - unsure), size + unsure, tiltX.n);
  const across = Math.hypot(tiltX.value, tiltY.value) * diagonal;
  const high = findHighCorner(tiltX.value, tiltY.value, sensor);
  const lowest = Math.min(...screws.map(({ move }) => move.value ?? 0));
  const told = across > unsure;
  const within =
    request.allowedUm !== undefined && isKnown(tilt.across) && tilt.across.hi <= request.allowedUm;
  return {
    screws,
    remainingTilt,
    sentence: told
      ? sayMoves({
          across: tilt.across,
          angleDeg: (Math.atan2(tiltY.value, tiltX.value) * 180) / Math.PI,
          size,
          within,
          line: line !== null,
          allowedUm: request.allowedUm,
        })
      : `The tilt of ${across.toFixed(0)} um across the diagonal is not told apart from none (± ${unsure.toFixed(0)} um): leave the screws alone.`,
    highCorner: told ? high : null,
    advice: told && !within ? "turn" : "leave",
    focusShift: makeExact(tidy(reached.shift), "um", {
      assumes: "Left at the sensor's centre by setting the screws to the nearest 15 degrees.",
    }),
    oneWay: screws.map(({ move }) => ((move.value ?? 0) - lowest) / pitchUm),
    oneWayFocusShift: makeExact(-lowest, "um", {
      assumes: "Every screw opens only; refocus by this much inwards.",
    }),
    testOffset: null,
    from: tilt.from,
  };
}

function halfWidth(quantity: Quantity): number {
  return quantity.value === null ? 0 : (quantity.hi - quantity.lo) / 2;
}

/** No negative zero, no dust of cosines. */
function tidy(value: number): number {
  const rounded = Math.round(value * 1e6) / 1e6;
  return rounded === 0 ? 0 : rounded;
}

interface Place {
  x: number;
  y: number;
}

/** Direction of the line through all screws (or through two that lie opposite); null where they span a plane. */
function findCommonLine(places: readonly Place[]): Place | null {
  if (places.length >= 3) {
    const [mx, my] = [
      places.reduce((sum, { x }) => sum + x, 0) / places.length,
      places.reduce((sum, { y }) => sum + y, 0) / places.length,
    ];
    let [xx, xy, yy] = [0, 0, 0];
    for (const { x, y } of places) {
      xx += (x - mx) ** 2;
      xy += (x - mx) * (y - my);
      yy += (y - my) ** 2;
    }
    const least = (xx + yy - Math.hypot(xx - yy, 2 * xy)) / 2;
    // A hundredth of the spread across the line does not tip a plate.
    if (least > 1e-4 * (xx + yy)) return null;
    const angle = Math.atan2(2 * xy, xx - yy) / 2;
    return { x: Math.cos(angle), y: Math.sin(angle) };
  }
  const [first, second] = [places[0], places[1] ?? { x: -places[0].x, y: -places[0].y }];
  const length = Math.hypot(first.x - second.x, first.y - second.y);
  if (length === 0) return { x: 1, y: 0 };
  return { x: (first.x - second.x) / length, y: (first.y - second.y) / length };
}

function projectOn(line: Place, gx: number, gy: number): [number, number] {
  const along = gx * line.x + gy * line.y;
  return [along * line.x, along * line.y];
}

/** Gradient, and shift at the centre, of the plane that the moved points span. */
function fitPlane(places: readonly Place[], moves: readonly number[]): Place & { shift: number } {
  const fit = fitLeastSquares(
    places.flatMap(({ x, y }) => [1, x, y]),
    moves,
    3,
  );
  if (fit === null) return { x: 0, y: 0, shift: 0 };
  const [shift, x, y] = fit.coefficients;
  return { x, y, shift };
}

function fitLine(places: readonly Place[], moves: readonly number[], line: Place): Place & { shift: number } {
  const fit = fitLeastSquares(
    places.flatMap(({ x, y }) => [1, x * line.x + y * line.y]),
    moves,
    2,
  );
  if (fit === null) return { x: 0, y: 0, shift: 0 };
  const [shift, along] = fit.coefficients;
  return { x: along * line.x, y: along * line.y, shift };
}

/** The corner at which the focal surface lies highest over the sensor, that is, nearest to the telescope. */
function findHighCorner(tiltX: number, tiltY: number, sensor: { widthMm: number; heightMm: number }): Corner {
  const height = (corner: Corner) =>
    tiltX * (corner.endsWith("Left") ? -1 : 1) * sensor.widthMm +
    tiltY * (corner.startsWith("lower") ? -1 : 1) * sensor.heightMm;
  return CORNERS.reduce((best, corner) => (height(corner) > height(best) ? corner : best));
}

function sayMoves(told: {
  across: Quantity;
  angleDeg: number;
  size: number;
  within: boolean;
  line: boolean;
  allowedUm: number | undefined;
}): string {
  const { across, angleDeg, size, within, line, allowedUm } = told;
  const amount = isKnown(across) ? stateQuantity(across, "um") : "not known";
  const tilt = `The tilt is ${amount} across the diagonal`;
  if (within) return `${tilt}, within the ${allowedUm} um allowed: leave the screws alone.`;
  const way = `The stars come to focus nearest to the telescope at the ${nameSide(angleDeg)}, so there the sensor must move towards it.`;
  const rest = line
    ? " The screws stand on one line, so only the tilt along it can be taken out."
    : " The centre keeps its focus.";
  return `${tilt}. ${way} Set to the nearest 15 degrees, the screws leave ${stateRemainder(size)} of tilt.${rest}`;
}

function refuse(request: MoveRequest): MoveResults {
  const { tilt, adjuster, allowedUm } = request;
  const { across } = tilt;
  const within =
    !tilt.signKnown && across.value !== null && allowedUm !== undefined && across.hi <= allowedUm;
  const offset: TestOffset | null =
    tilt.signKnown || within || request.widthUm === null
      ? null
      : chooseTestOffset({ ...request, widthUm: request.widthUm });
  const why = tilt.signKnown
    ? "The frames do not determine the tilt."
    : "The side that is high is not known: the same stars fit the tilt and its opposite.";
  const find =
    offset === null
      ? "Take one more frame with the focuser moved out by a known amount and enter it as focusOffsetUm."
      : offset.sentence;
  return {
    screws: adjuster.screws.map(({ angleDeg }) => ({
      angleDeg,
      move: makeUnknown("um", why),
      turns: makeUnknown("turn", why),
      setTurns: null,
    })),
    remainingTilt: makeUnknown("um", why),
    sentence: within
      ? `The tilt is at most ${across.hi.toFixed(0)} um across the diagonal, whichever side is high. This is within the ${allowedUm} um allowed: leave the screws alone.`
      : tilt.signKnown
        ? `${why} There is nothing to turn yet.`
        : `${why} ${find}`,
    highCorner: null,
    advice: within ? "leave" : "find sign",
    focusShift: null,
    oneWay: null,
    oneWayFocusShift: null,
    testOffset: offset === null ? null : offset.offset,
    from: tilt.from,
  };
}
