import { makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import { describeNight } from "./describe-night.ts";
import { boundPolarError } from "./drift.ts";
import { type GuidingMeasures, type GuidingSpan, measureGuiding } from "./guiding.ts";
import type { NightLog } from "./read-log.ts";
import { measureWind, relateWind, type WindMeasures, type WindSpan } from "./wind.ts";

/** What the logs of a night say, beside the stars. */
export interface NightResults {
  /** Within one exposure, per axis and of both together, arcsec. */
  guidingRms: { ra: Quantity; dec: Quantity; total: Quantity };
  /** The least error of the polar axis that the drift in declination asks for, arcmin. */
  polarError: Quantity;
  /** Mean speed, m/s. */
  wind: Quantity;
  /** Guiding's part of the variance of stars at the centre, percent. */
  shareOfBlur: Quantity;
  /** Speed that one sample in twenty exceeds, m/s. */
  gusts: Quantity;
  /** Rank correlation of guiding error and wind over the exposures. */
  windLink: Quantity;
  /** Ellipticity that the log alone would give stars as wide as those at the centre. */
  elongation: Quantity;
  /** Drift in declination, arcsec/min. */
  drift: Quantity;
  /** Samples left out as dithers or knocks, percent; null without a guiding log. */
  excursions: Quantity | null;
  /** Length of one exposure as taken here, s, and whether the frames state it. */
  exposureS: number;
  isExposureKnown: boolean;
  guidingSpans: GuidingSpan[];
  windSpans: WindSpan[];
  sentence: string;
}

export interface NightRequest {
  guiding: NightLog | null;
  wind: NightLog | null;
  /** Exposure of the frames, s; null where the headers do not state it. */
  exposureS: number | null;
  /** Width of the stars at the centre, FWHM on the sky, arcsec; null where none was measured. */
  centreFwhm: Quantity | null;
  /** Ellipticity common to all stars by the field model; null without one. */
  tracking: Quantity | null;
  seed: number;
}

/** Taken where the frames do not state their exposure: a usual length (common practice, no source). */
const usualExposureS = 60;
/** FWHM of a Gaussian in standard deviations, 2 sqrt(2 ln 2). */
const fwhmPerSigma = 2 * Math.sqrt(2 * Math.LN2);

const noGuiding: GuidingMeasures["rms"] = {
  ra: makeUnknown("arcsec", "No guiding log is on record."),
  dec: makeUnknown("arcsec", "No guiding log is on record."),
  total: makeUnknown("arcsec", "No guiding log is on record."),
};

/** The results of a night's logs; null where the test names none. */
export function makeNightResults(request: NightRequest): NightResults | null {
  const { guiding: guidingLog, wind: windLog, seed } = request;
  if (guidingLog === null && windLog === null) return null;
  const exposureS = request.exposureS ?? usualExposureS;
  const guiding = guidingLog === null ? null : measureGuiding(guidingLog, exposureS);
  const wind = windLog === null ? null : measureWind(windLog, exposureS, seed);
  const rms = guiding?.rms ?? noGuiding;
  const drift = guiding?.drift ?? makeUnknown("arcsec/min", "No guiding log is on record.");
  const results = {
    guidingRms: rms,
    polarError: boundPolarError(drift),
    wind: wind?.mean ?? makeUnknown("m/s", "No log of the wind is on record."),
    shareOfBlur: stateShare(rms, request.centreFwhm),
    gusts: wind?.gusts ?? makeUnknown("m/s", "No log of the wind is on record."),
    windLink: linkWind(guiding, wind),
    elongation: stateElongation(rms, request.centreFwhm),
    drift,
    excursions: guiding?.excursions ?? null,
    exposureS,
    isExposureKnown: request.exposureS !== null,
    guidingSpans: guiding?.spans ?? [],
    windSpans: wind?.spans ?? [],
  };
  return { ...results, sentence: describeNight(results, request.tracking) };
}

function linkWind(guiding: GuidingMeasures | null, wind: WindMeasures | null): Quantity {
  return guiding === null || wind === null
    ? makeUnknown("ratio", "It takes a guiding log and a log of the wind.")
    : relateWind(guiding.spans, wind.spans);
}

/**
 * Guiding's part of the blur, percent: the mean of both axes' variances over that of a Gaussian as wide as the stars at
 * the centre. Variances of independent blurs add; that of a real star has wings that the Gaussian leaves out, so the
 * share is an upper one (the second moment of long-exposure seeing has no end: Martinez et al. 2010, A&A 516, A90).
 */
function stateShare(rms: GuidingMeasures["rms"], centre: Quantity | null): Quantity {
  const unit = "percent";
  if (rms.total.value === null) return makeUnknown(unit, rms.total.why);
  if (centre === null || centre.value === null)
    return makeUnknown(unit, "No stars were measured at the centre.");
  const share = (total: number, fwhm: number) => (50 * total ** 2 * fwhmPerSigma ** 2) / fwhm ** 2;
  const lo = share(rms.total.lo, centre.hi);
  if (lo > 100)
    return makeUnknown(
      unit,
      "The log tells of more blur than the stars show: it is not of these exposures, or not in arcseconds on the sky.",
    );
  return makeMeasured(
    share(rms.total.value, centre.value),
    unit,
    lo,
    share(rms.total.hi, centre.lo),
    rms.total.n,
    {
      formula: "100 * (ra^2 + dec^2) / 2 / (fwhm / 2.3548)^2",
      source: "variances of independent blurs add",
      assumes: "The stars’ width is that of a Gaussian; their wings make the true share smaller.",
    },
  );
}

/** Short axis over long of a star whose variance the two axes of the log stretch apart; from both axes' intervals. */
function stateElongation({ ra, dec }: GuidingMeasures["rms"], centre: Quantity | null): Quantity {
  if (ra.value === null) return makeUnknown("ratio", ra.why);
  if (dec.value === null) return makeUnknown("ratio", dec.why);
  if (centre === null || centre.value === null)
    return makeUnknown("ratio", "No stars were measured at the centre.");
  const variance = (centre.value / fwhmPerSigma) ** 2;
  const ellipticity = (one: number, other: number) => {
    const half = Math.min(Math.abs(one ** 2 - other ** 2) / 2, 0.999 * variance);
    return 1 - Math.sqrt((variance - half) / (variance + half));
  };
  const cross = ra.lo <= dec.hi && dec.lo <= ra.hi;
  const ends = [ellipticity(ra.hi, dec.lo), ellipticity(ra.lo, dec.hi)];
  const value = ellipticity(ra.value, dec.value);
  return makeMeasured(value, "ratio", cross ? 0 : Math.min(...ends), Math.max(...ends), ra.n, {
    assumes: "Right ascension and declination are the long and the short way of the error.",
  });
}
