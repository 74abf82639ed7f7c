import { computeStudentQuantile } from "../maths/distributions.ts";
import { makeExact, makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import { estimateMadSigma, mean, median } from "../maths/statistics.ts";
import { measureDrift } from "./drift.ts";
import { cutWindows, fewestSamples, groupSpans, splitWindow, type Window } from "./exposure-windows.ts";
import type { NightLog } from "./read-log.ts";

/** Guiding error of one span of the night, or of some in a row in a long one, RMS per axis, arcsec. */
export interface GuidingSpan {
  /** Middle of the span, s since the log's first sample. */
  timeS: number;
  raArcsec: number;
  decArcsec: number;
}

export interface GuidingMeasures {
  /** RMS within an exposure, per axis and of both together (not per axis: the root of the sum of the squares), arcsec. */
  rms: { ra: Quantity; dec: Quantity; total: Quantity };
  /** Declination's slow way, arcsec/min, upwards as the log counts it; unknown where it is not told from none. */
  drift: Quantity;
  /** Samples that stand far out, as a dither or a knock leaves them, in percent; left out of the RMS. */
  excursions: Quantity;
  spans: GuidingSpan[];
}

/** Samples farther from their window's middle than this many sigma are a dither, a knock or a lost star (chosen). */
const excursionSigma = 6;
/** Fewest pieces that an interval is drawn from. */
const fewestPieces = 6;

interface Axes {
  ra: Float64Array;
  dec: Float64Array;
}

/**
 * What the guider's log says of one test's exposures. Within spans of `exposureS` the error blurs; from span to span it
 * moves the frame. The RMS is the root of the mean over all spans of the samples' squared distance from the span's own
 * mean, with n - 1 for n; its interval is that of the spans' scatter, or of their quarters' where there are fewer than
 * six spans. A log counts the guide star's centroid, so the air's own dance is partly in it.
 *
 * @param exposureS - length of one exposure, above 0
 */
export function measureGuiding(log: NightLog, exposureS: number): GuidingMeasures {
  const whole = { ra: log.columns["ra_arcsec"], dec: log.columns["dec_arcsec"] };
  const isSteady = markSteady(cutWindows(log.timeS, exposureS), whole);
  const keep = (values: Float64Array) => values.filter((_, k) => isSteady[k]);
  const timeS = keep(log.timeS);
  const axes = { ra: keep(whole.ra), dec: keep(whole.dec) };
  const windows = cutWindows(timeS, exposureS);
  return {
    rms: stateRms(windows, axes),
    drift: measureDrift(timeS, axes.dec, windows),
    excursions: makeExact(
      (100 * (log.timeS.length - timeS.length)) / Math.max(1, log.timeS.length),
      "percent",
    ),
    spans: groupSpans(windows).map((group) => describeSpan(group, axes, timeS)),
  };
}

/** Which samples are steady: those outside every window, too few to judge, count as not. */
function markSteady(windows: readonly Window[], axes: Axes): boolean[] {
  const residuals = (values: Float64Array) => {
    const out = new Float64Array(values.length).fill(Number.POSITIVE_INFINITY);
    for (const { from, to } of windows) {
      const middle = median(values.subarray(from, to));
      for (let k = from; k < to; k++) out[k] = values[k] - middle;
    }
    return out;
  };
  const [ra, dec] = [residuals(axes.ra), residuals(axes.dec)];
  const limit = (values: Float64Array) => excursionSigma * estimateMadSigma(values.filter(Number.isFinite));
  const [mostRa, mostDec] = [limit(ra), limit(dec)];
  return Array.from(ra, (value, k) => Math.abs(value) <= mostRa && Math.abs(dec[k]) <= mostDec);
}

/** Squared distances from the window's mean, such that their mean is the window's variance. */
function listSquares(values: Float64Array, { from, to }: Window): Float64Array {
  const own = values.subarray(from, to);
  const middle = mean(own);
  return own.map((value) => ((value - middle) ** 2 * own.length) / (own.length - 1));
}

function stateRms(windows: readonly Window[], axes: Axes): GuidingMeasures["rms"] {
  const samples = windows.reduce((sum, { from, to }) => sum + to - from, 0);
  const parts = windows.length >= fewestPieces ? 1 : 4;
  const pieces = windows.flatMap((window) => {
    const ra = listSquares(axes.ra, window);
    const dec = listSquares(axes.dec, window);
    return splitWindow({ from: 0, to: ra.length }, parts).map(({ from, to }) => ({
      count: to - from,
      ra: sum(ra.subarray(from, to)),
      dec: sum(dec.subarray(from, to)),
    }));
  });
  const state = (square: (piece: (typeof pieces)[number]) => number): Quantity => {
    const freedom = pieces.length - 1;
    if (pieces.length < fewestPieces)
      return makeUnknown(
        "arcsec",
        `The log has too few samples: ${samples}, at least ${fewestPieces * fewestSamples} wanted.`,
      );
    const variance = pieces.reduce((total, piece) => total + square(piece), 0) / samples;
    // Of a ratio of sums over independent pieces (Cochran 1977, Sampling Techniques, 3rd ed., eq. 6.13), on the logarithm.
    const spread = Math.sqrt(
      pieces.reduce((total, piece) => total + (square(piece) - variance * piece.count) ** 2, 0) *
        (pieces.length / freedom),
    );
    const reach = (computeStudentQuantile(0.975, freedom) * spread) / (samples * variance) / 2;
    const value = Math.sqrt(variance);
    return makeMeasured(value, "arcsec", value * Math.exp(-reach), value * Math.exp(reach), samples);
  };
  return {
    ra: state(({ ra }) => ra),
    dec: state(({ dec }) => dec),
    total: state(({ ra, dec }) => ra + dec),
  };
}

function describeSpan(group: readonly Window[], axes: Axes, timeS: Float64Array): GuidingSpan {
  const rms = (values: Float64Array) =>
    Math.sqrt(mean(group.map((window) => mean(listSquares(values, window)))));
  const middle = (timeS[group[0].from] + timeS[group[group.length - 1].to - 1]) / 2 - timeS[0];
  return { timeS: middle, raArcsec: rms(axes.ra), decArcsec: rms(axes.dec) };
}

function sum(values: Float64Array): number {
  return values.reduce((total, value) => total + value, 0);
}
