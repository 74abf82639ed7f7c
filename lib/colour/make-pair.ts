import { makeExact, makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import type { ColourPair } from "../report/colour-results.ts";
import type { AirShift } from "./expect-air.ts";
import { judgeLateral } from "./judge-lateral.ts";
import { computeHalfWidth, type Estimate, type ShiftMeasure } from "./measure-shift.ts";
import type { ShiftStars } from "./shift-model.ts";
import { measureShiftProfile, traceShiftCurve } from "./shift-profile.ts";

export interface Yardsticks {
  airy: Quantity;
  pixel: Quantity;
  seeing: Quantity;
}

export interface PairSetting {
  of: string;
  against: string;
  air: AirShift;
  yardsticks: Yardsticks;
  arcsecPerUm: number;
  /** Direction of the zenith on the displayed frame, where the record tells it. */
  zenithAngleDeg: number | null;
  /** Why frames of their own pointing have no shift of the field; null for planes of one frame. */
  whyNoShift: string | null;
}

const noLean = "Too few bright lone stars tell where their light lies; places are the fitted centres.";

/** A field must be reached by stars this far out, or the corner's value would be a guess; rho. */
const leastReach = 0.4;

function toQuantity(estimate: Estimate | undefined, unit: "um" | "ppm", n: number, why: string): Quantity {
  if (estimate === undefined || !Number.isFinite(estimate.error)) return makeUnknown(unit, why);
  const reach = computeHalfWidth(estimate);
  return makeMeasured(estimate.value, unit, estimate.value - reach, estimate.value + reach, n);
}

/**
 * Size and direction of a shift given by its components, with 95 % intervals. The size is freed of what noise adds to a
 * length (the mean square of the errors); its interval reaches zero, and the direction is not stated, where the shift is not told
 * from none at 5 % (chi-square with two degrees of freedom, 5.99).
 */
export function describeShift(x: Estimate, y: Estimate, n: number): { size: Quantity; angle: Quantity } {
  const square = x.value ** 2 + y.value ** 2;
  const size = Math.sqrt(Math.max(0, square - x.error ** 2 - y.error ** 2));
  const [halfX, halfY] = [computeHalfWidth(x), computeHalfWidth(y)];
  const direction = Math.atan2(y.value, x.value);
  const [cos, sin] = [Math.cos(direction), Math.sin(direction)];
  const along = Math.hypot(halfX * cos, halfY * sin);
  const across = Math.hypot(halfX * sin, halfY * cos);
  const told = (x.value / halfX) ** 2 + (y.value / halfY) ** 2 > 5.99 / 1.96 ** 2;
  const angleDeg = (direction * 180) / Math.PI;
  const reachDeg = (Math.atan2(across, Math.sqrt(square)) * 180) / Math.PI;
  return {
    size: makeMeasured(size, "um", told ? Math.max(0, size - along) : 0, size + along, n),
    angle: told
      ? makeMeasured(angleDeg, "deg", angleDeg - reachDeg, angleDeg + reachDeg, n)
      : makeUnknown("deg", "The shift is not told from none, so it has no direction."),
  };
}

/** What the air leaves over: as a vector towards the zenith on record, else of the sizes. */
function subtractAir(measure: ShiftMeasure, size: Quantity, { air, zenithAngleDeg }: PairSetting): Quantity {
  const { constant } = measure;
  const expected = air.towardsZenith;
  if (expected.value === null) return makeUnknown("um", expected.why);
  if (constant === null || size.value === null) return makeUnknown("um", size.value === null ? size.why : "");
  const errorOfAir = (expected.hi - expected.lo) / (2 * 1.96);
  if (zenithAngleDeg === null) {
    const value = size.value - Math.abs(expected.value);
    const reach = Math.hypot((size.hi - size.lo) / 2, 1.96 * errorOfAir);
    return makeMeasured(value, "um", value - reach, value + reach, measure.stars, {
      assumes: "The shift points along the vertical, as the record does not say where the zenith is.",
    });
  }
  const angle = (zenithAngleDeg * Math.PI) / 180;
  const rest = (estimate: Estimate, share: number): Estimate => ({
    value: estimate.value - expected.value * share,
    error: Math.hypot(estimate.error, errorOfAir * share),
    freedom: estimate.freedom,
  });
  const { size: left } = describeShift(
    rest(constant.x, Math.cos(angle)),
    rest(constant.y, Math.sin(angle)),
    measure.stars,
  );
  return left;
}

function compare(lateral: Quantity, yardstick: Quantity): Quantity {
  if (lateral.value === null) return makeUnknown("ratio", lateral.why);
  if (yardstick.value === null) return makeUnknown("ratio", yardstick.why);
  const per = 1 / yardstick.value;
  const ends = [Math.abs(lateral.lo) * per, Math.abs(lateral.hi) * per];
  const lo = lateral.lo <= 0 && lateral.hi >= 0 ? 0 : Math.min(...ends);
  return makeMeasured(Math.abs(lateral.value) * per, "ratio", lo, Math.max(...ends), lateral.n);
}

/** One pair of channels as the results state it. */
export function makePair(measure: ShiftMeasure, stars: ShiftStars, setting: PairSetting): ColourPair {
  const { of, against, air, yardsticks, arcsecPerUm, whyNoShift } = setting;
  const { constant, perColour, terms } = measure;
  const n = measure.stars;
  const near = `The stars reach only to ${(100 * measure.reach).toFixed(0)} % of the half-diagonal; the corner would be a guess.`;
  const lateral =
    measure.reach < leastReach ? makeUnknown("um", near) : toQuantity(measure.lateral, "um", n, near);
  const noShift = whyNoShift ?? "The stars do not determine it.";
  const shift =
    constant === null
      ? { size: makeUnknown("um", noShift), angle: makeUnknown("deg", noShift) }
      : describeShift(constant.x, constant.y, n);
  const noColour = "Too few stars of known colour.";
  const perShift = perColour === null ? null : describeShift(perColour.x, perColour.y, n).size;
  const over = {
    airy: compare(lateral, yardsticks.airy),
    pixel: compare(lateral, yardsticks.pixel),
    seeing: compare(lateral, yardsticks.seeing),
  };
  const toSky = (quantity: Quantity): Quantity =>
    quantity.value === null
      ? makeUnknown("arcsec", quantity.why)
      : makeMeasured(
          quantity.value * arcsecPerUm,
          "arcsec",
          quantity.lo * arcsecPerUm,
          quantity.hi * arcsecPerUm,
          quantity.n,
        );
  return {
    of,
    against,
    lateralAtCorner: lateral,
    lightBeyondFit: toQuantity(measure.lean?.lateral, "um", measure.lean?.stars ?? 0, noLean),
    constantShift: shift,
    expectedFromAir: takeSize(air.towardsZenith),
    scaleDifference: toQuantity(measure.scalePpm, "ppm", n, near),
    cubicAtCorner: terms.cubic
      ? toQuantity(measure.cubic, "um", n, near)
      : makeUnknown("um", "Too few stars, or none far enough out, to tell a curve from a straight line."),
    shiftX: toQuantity(constant?.x, "um", n, noShift),
    shiftY: toQuantity(constant?.y, "um", n, noShift),
    shiftOnSky: toSky(shift.size),
    expectedOnSky: takeSize(air.arcsec),
    beyondAir: subtractAir(measure, shift.size, setting),
    airAtCorner: air.atCorner,
    perStarColour: {
      lateralAtCorner: toQuantity(perColour?.lateral, "um", n, noColour),
      shift: perShift ?? makeUnknown("um", noColour),
    },
    over,
    ...judgeLateral(of, against, lateral, over),
    stars: n,
    frames: measure.frames,
    profile: measureShiftProfile(measure, stars),
    curve: traceShiftCurve(measure),
  };
}

/** A pair of which nothing could be fitted, and why. */
export function makeEmptyPair(setting: PairSetting, why: string): ColourPair {
  const unknown = (unit: "um" | "deg" | "ppm" | "arcsec" | "ratio") => makeUnknown(unit, why);
  const over = { airy: unknown("ratio"), pixel: unknown("ratio"), seeing: unknown("ratio") };
  return {
    of: setting.of,
    against: setting.against,
    lateralAtCorner: unknown("um"),
    lightBeyondFit: unknown("um"),
    constantShift: { size: unknown("um"), angle: unknown("deg") },
    expectedFromAir: takeSize(setting.air.towardsZenith),
    scaleDifference: unknown("ppm"),
    cubicAtCorner: unknown("um"),
    shiftX: unknown("um"),
    shiftY: unknown("um"),
    shiftOnSky: unknown("arcsec"),
    expectedOnSky: takeSize(setting.air.arcsec),
    beyondAir: unknown("um"),
    airAtCorner: setting.air.atCorner,
    perStarColour: { lateralAtCorner: unknown("um"), shift: unknown("um") },
    over,
    ...judgeLateral(setting.of, setting.against, unknown("um"), over),
    stars: 0,
    frames: 0,
    profile: null,
    curve: null,
  };
}

/** The size of a signed quantity. */
function takeSize(quantity: Quantity): Quantity {
  if (quantity.value === null || quantity.value >= 0) return quantity;
  return { ...quantity, value: -quantity.value, lo: -quantity.hi, hi: -quantity.lo };
}

/** Airy disc, pixel and star width on the sensor. */
export function makeYardsticks(request: { airyUm: number; pixelUm: number; seeing: Quantity }): Yardsticks {
  return {
    airy: makeExact(request.airyUm, "um"),
    pixel: makeExact(request.pixelUm, "um"),
    seeing: request.seeing,
  };
}
