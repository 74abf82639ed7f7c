import type { Quantity } from "../maths/quantity.ts";
import { makeMeasured, makeUnknown } from "../maths/quantity.ts";
import { fitLimitingRing, type RingFit } from "./fit-limiting-ring.ts";
import type { Illumination } from "./illumination.ts";
import type { LightPath } from "./list-apertures.ts";
import type { RingResults } from "./ring-results.ts";

/** How the measured fall-off and the rings on record go together. */
export interface LightCause {
  channel: string;
  class: "evenlyLit" | "rings" | "ringsAndTelescope" | "telescope" | "brighterThanRecords" | "unknown";
  /** Percent at the corner: measured, what the rings on record leave, and what the telescope itself then leaves. */
  measured: Quantity;
  rings: Quantity;
  own: Quantity;
  /** The ring whose edge the shape of the fall-off fits best, and the clear diameter it then has, mm; null where none does. */
  ring: { part: string; clearDiameter: Quantity; recordedMm: number; residual: Quantity } | null;
  sentence: string;
}

/** Corners above this are evenly lit, percent: the definition of the fully lit field. */
const evenlyLitPercent = 99;
/** Records are right to about half a millimetre of diameter, which at a typical ring is two percent at the corner (chosen). */
const recordPercent = 2;

const round = (value: number) => value.toFixed(0);

/** Sets what the flats show against what the rings on record predict. Pure. */
export function explainFallOff(
  channel: string,
  light: Illumination,
  rings: RingResults | null,
  path: LightPath,
  sensor: { widthMm: number; heightMm: number },
): LightCause {
  const measured = light.cornerMean;
  const none = makeUnknown("percent", "No clear diameter is on record.");
  const base = {
    channel,
    measured,
    rings: rings?.together ?? none,
    own: makeOwn(measured, rings, light.flats) ?? none,
    ring: null,
  };
  if (measured.value === null) return { ...base, class: "unknown", sentence: measured.why };
  if (measured.value >= evenlyLitPercent) {
    return {
      ...base,
      class: "evenlyLit",
      sentence: `The corners keep ${measured.value.toFixed(1)} % of the light: none is lost that matters.`,
    };
  }
  if (rings === null || rings.together.value === null) {
    return {
      ...base,
      class: "unknown",
      sentence: `The corners keep ${round(measured.value)} % of the light; without clear diameters on record no ring can be asked.`,
    };
  }
  const predicted = rings.together;
  const play = recordPercent + (measured.hi - measured.value);
  const { own } = base;
  const ring = describeRing(fitLimitingRing(light.profile, path, sensor), path, light.flats);
  const whole = { ...base, ring };
  const leaves = `The corners keep ${round(measured.value)} % of the light`;
  if (measured.value > predicted.hi + play) {
    return {
      ...whole,
      class: "brighterThanRecords",
      sentence: `${leaves}, more than the ${round(predicted.value)} % that the rings on record would leave: a clear diameter on record is too small, or the exit pupil is nearer than assumed.`,
    };
  }
  const ringsTake = predicted.value < evenlyLitPercent;
  if (measured.value >= predicted.lo - play) {
    const name = rings.limitingRing === null ? "the rings" : `the ${rings.limitingRing}`;
    if (ringsTake)
      return {
        ...whole,
        class: "rings",
        sentence: `${leaves}; the rings on record leave ${round(predicted.value)} % and explain it: ${name} limits.`,
      };
    return {
      ...whole,
      class: "telescope",
      sentence: `${leaves}; the rings on record pass all of it, so the little that is lost is the telescope's own.`,
    };
  }
  if (!ringsTake)
    return {
      ...whole,
      class: "telescope",
      sentence: `${leaves}; the rings on record pass ${round(predicted.value)} %, so they do not explain it: ${round(100 - (own.value ?? 100))} % is lost in the telescope, its corrector or a part not on record.`,
    };
  return {
    ...whole,
    class: "ringsAndTelescope",
    sentence: `${leaves}; the rings on record leave ${round(predicted.value)} %, so of what passes them another ${round(100 - (own.value ?? 100))} % is lost in the telescope, its corrector or a part not on record.`,
  };
}

/** What the telescope itself leaves of the light that passes the rings; null where one of the two is not known. */
function makeOwn(measured: Quantity, rings: RingResults | null, flats: number): Quantity | null {
  if (measured.value === null || rings === null || rings.together.value === null) return null;
  const share = (light: number, ring: number) => Math.min(100, (100 * light) / ring);
  const { value, lo, hi } = rings.together;
  return makeMeasured(
    share(measured.value, value),
    "percent",
    share(measured.lo, hi),
    share(measured.hi, lo),
    flats,
    {
      source: "measured light over that which the rings on record leave",
      assumes: rings.assumption,
    },
  );
}

function describeRing(fit: RingFit | null, path: LightPath, n: number): LightCause["ring"] {
  if (fit === null) return null;
  const { part, clearDiameterMm } = path.apertures[fit.place];
  return {
    part,
    clearDiameter: makeMeasured(fit.clearDiameterMm, "mm", fit.lo, fit.hi, n, {
      source: "the clear diameter with which the light's profile is fitted best",
      assumes: "The other rings are as on record; the exit pupil lies within the range stated.",
    }),
    recordedMm: clearDiameterMm,
    residual: makeMeasured(fit.rmsPercent, "percent", fit.rmsPercent, fit.rmsPercent, n),
  };
}
