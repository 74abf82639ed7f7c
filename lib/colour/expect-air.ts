import { makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import {
  type Air,
  computeAirMagnification,
  computeDispersion,
  computePressureMmHg,
} from "./air-dispersion.ts";
import type { Passband } from "./channel-wavelengths.ts";

export interface AirRequest {
  of: Passband | null;
  against: Passband | null;
  altitudeDeg: number | null;
  temperatureC: number | null;
  focalLengthMm: number;
  halfDiagonalMm: number;
}

/** What the air alone does to two colours. */
export interface AirShift {
  /** Shift of the whole field against the reference, towards the zenith positive, um on the sensor. */
  towardsZenith: Quantity;
  arcsec: Quantity;
  /** What its unequal refraction looks like as lateral colour at the corner, um. */
  atCorner: Quantity;
}

/** Sites from sea level to some 1500 m: the record does not state the height, the interval holds both. */
const heightsM = [0, 400, 1500] as const;
/** Where the record has no temperature: 10 C, with 10 C either side. */
const usualTemperature = [0, 10, 20] as const;
const vapourMmHg = 6;

const source = "Filippenko 1982, PASP 94, 715, equations 1 to 4";
const formula = "206264.806 * (n_of - n_against) * tan(z)";

/** Middle value and the changes of each uncertain input, one at a time, added in squares (JCGM 100:2008, 5.1.2). */
function spread(
  compute: (of: number, against: number, air: Air) => number,
  of: Passband,
  against: Passband,
  temperatures: readonly [number, number, number],
): { value: number; lo: number; hi: number } {
  const air = (height: number, temperatureC: number): Air => ({
    pressureMmHg: computePressureMmHg(height),
    temperatureC,
    vapourMmHg,
  });
  const middle = air(heightsM[1], temperatures[1]);
  const value = compute(of.middleUm, against.middleUm, middle);
  const pairs = [
    [-1, 1].map((side) => compute(of.middleUm + side * of.eitherSideUm, against.middleUm, middle)),
    [-1, 1].map((side) => compute(of.middleUm, against.middleUm + side * against.eitherSideUm, middle)),
    [0, 2].map((k) => compute(of.middleUm, against.middleUm, air(heightsM[k], temperatures[1]))),
    [0, 2].map((k) => compute(of.middleUm, against.middleUm, air(heightsM[1], temperatures[k]))),
  ];
  let [below, above] = [0, 0];
  for (const pair of pairs) {
    const changes = pair.map((other) => other - value);
    below += Math.min(0, ...changes) ** 2;
    above += Math.max(0, ...changes) ** 2;
  }
  return { value, lo: value - Math.sqrt(below), hi: value + Math.sqrt(above) };
}

function explainGap({ of, against, altitudeDeg }: AirRequest): string | null {
  if (altitudeDeg === null) return "The altitude is not on record, so the air’s share cannot be reckoned.";
  if (!(altitudeDeg > 0)) return "The altitude on record is not above the horizon.";
  if (of === null || against === null)
    return "The passband of a filter is not on record (filter.wavelengthNm), so the air’s share cannot be reckoned.";
  return null;
}

/** The air's dispersion between two passbands at an altitude; unknown, with why, where altitude or passband are not on record. */
export function expectAir(request: AirRequest): AirShift {
  const why = explainGap(request);
  const { of, against, altitudeDeg, temperatureC, focalLengthMm } = request;
  if (why !== null || of === null || against === null || altitudeDeg === null) {
    const unknown = (unit: "um" | "arcsec") => makeUnknown(unit, why ?? "");
    return { towardsZenith: unknown("um"), arcsec: unknown("arcsec"), atCorner: unknown("um") };
  }
  const temperatures: readonly [number, number, number] =
    temperatureC === null ? usualTemperature : [temperatureC - 2, temperatureC, temperatureC + 2];
  const stated = of.stated && against.stated;
  const assumes = `${stated ? "" : "Passbands as such filters mostly have them. "}Site between sea level and 1500 m.`;
  const shift = spread((a, b, air) => computeDispersion(a, b, altitudeDeg, air), of, against, temperatures);
  const stretch = spread(
    (a, b, air) => computeAirMagnification(a, b, altitudeDeg, air),
    of,
    against,
    temperatures,
  );
  const umPerArcsec = (focalLengthMm * 1000) / 206264.806;
  const umAtCorner = request.halfDiagonalMm * 1000;
  const make = (unit: "um" | "arcsec", { value, lo, hi }: typeof shift, factor: number, working = formula) =>
    makeMeasured(value * factor, unit, lo * factor, hi * factor, 1, {
      formula: working,
      source,
      assumes,
    });
  return {
    towardsZenith: make("um", shift, umPerArcsec, `f * ${formula} / 206264.806`),
    arcsec: make("arcsec", shift, 1),
    atCorner: make("um", stretch, umAtCorner, "-r * (n_of - n_against) * (1 / cos(z)^2 + 1) / 2"),
  };
}
