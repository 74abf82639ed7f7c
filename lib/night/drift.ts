import { computeStudentQuantile } from "../maths/distributions.ts";
import { makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import { mean } from "../maths/statistics.ts";
import type { Window } from "./exposure-windows.ts";

/** Fewest windows whose scatter about a line tells how sure the line is. */
const fewestWindows = 5;

/**
 * Turn of the sky, radians per minute of time: 2 pi over the sidereal day of 86164.0905 s (Explanatory Supplement to the
 * Astronomical Almanac, 3rd ed., 2013, ch. 3).
 */
const skyRadiansPerMinute = (2 * Math.PI * 60) / 86164.0905;

/**
 * Slope of a line through the windows' means, arcsec/min, with its Student interval from their scatter about the line;
 * unknown where that holds zero, as a guider takes the drift out.
 */
export function measureDrift(
  timeS: Float64Array,
  decArcsec: Float64Array,
  windows: readonly Window[],
): Quantity {
  const unit = "arcsec/min";
  if (windows.length < fewestWindows)
    return makeUnknown(
      unit,
      `The log covers ${windows.length} exposures; at least ${fewestWindows} are wanted.`,
    );
  const minutes = windows.map(({ from, to }) => mean(timeS.subarray(from, to)) / 60);
  const places = windows.map(({ from, to }) => mean(decArcsec.subarray(from, to)));
  const [middle, level] = [mean(minutes), mean(places)];
  const spread = minutes.reduce((sum, minute) => sum + (minute - middle) ** 2, 0);
  const slope = minutes.reduce((sum, minute, k) => sum + (minute - middle) * (places[k] - level), 0) / spread;
  const squares = minutes.reduce(
    (sum, minute, k) => sum + (places[k] - level - slope * (minute - middle)) ** 2,
    0,
  );
  const freedom = windows.length - 2;
  const reach = computeStudentQuantile(0.975, freedom) * Math.sqrt(squares / freedom / spread);
  if (!(Math.abs(slope) > reach))
    return makeUnknown(
      unit,
      "The log shows no drift in declination: the guider took it out, or there is none. A log with the corrections in declination switched off tells.",
    );
  return makeMeasured(slope, unit, slope - reach, slope + reach, windows.length);
}

/**
 * The least error of the polar axis that makes such a drift, arcmin. An axis off by E makes stars drift in declination by
 * E times the sky's turn times the sine of the hour angle from the error's own: at most E times 0.2625 arcsec/min per
 * arcmin, at every declination alike. It follows from the rotation of one axis about the other; the first-order form is
 * exact to 1e-4 below half a degree.
 */
export function boundPolarError(drift: Quantity): Quantity {
  if (drift.value === null) return makeUnknown("arcmin", drift.why);
  // Arcmin of error per arcsec/min of drift: both sides in radians, 60 arcsec to the arcmin.
  const perDrift = 1 / 60 / skyRadiansPerMinute;
  const ends = [drift.lo, drift.hi].map((end) => Math.abs(end) * perDrift);
  return makeMeasured(
    Math.abs(drift.value) * perDrift,
    "arcmin",
    Math.min(...ends),
    Math.max(...ends),
    drift.n,
    {
      formula: "drift / omega",
      source: "rotation of one axis about the other, first order",
      assumes:
        "The least error that drifts so: at another hour angle it is more. Nothing sagged and the guider left declination alone.",
    },
  );
}
