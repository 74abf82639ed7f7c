import { estimateMeasure, STAR_MEASURES } from "../field/star-measures.ts";
import { makeExact, makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import { median } from "../maths/statistics.ts";
import type { NightFacts } from "../report/results.ts";
import type { ReadSide } from "./read-side.ts";

function readExposure({ side }: ReadSide): Quantity {
  const times = (side.measurement?.frames ?? []).flatMap(({ header }) =>
    header.exposureS !== null && header.exposureS > 0 ? [header.exposureS] : [],
  );
  if (times.length === 0) return makeUnknown("s", "The frames' headers do not state the exposure.");
  return makeMeasured(median(times), "s", Math.min(...times), Math.max(...times), times.length);
}

function readAltitude({ side }: ReadSide): Quantity {
  const altitude = side.results?.record.altitudeDeg ?? null;
  return altitude === null
    ? makeUnknown("deg", "The altitude is not on record.")
    : makeExact(altitude, "deg");
}

/** Standard deviation of what the frames add to the widths of all stars, percent; the stars' noise in it taken off. */
function readFrameScatter({ stars }: ReadSide): Quantity {
  if (stars === null) return makeUnknown("percent", "No stars were measured.");
  const { rho } = stars.placed.places;
  const estimate = estimateMeasure(stars.placed, Array.from(rho.keys()), STAR_MEASURES.fwhm);
  const frames = estimate?.frameEffects.length ?? 0;
  if (estimate === null || frames < 2) {
    return makeUnknown("percent", "A single frame does not tell how the night changed.");
  }
  const squares = estimate.frameEffects.reduce((sum, effect) => sum + effect * effect, 0) / (frames - 1);
  const sigma = (100 * Math.sqrt(Math.max(0, squares - estimate.frameEffectNoise))) / estimate.value;
  // Half and double: what a sample of three to five tells of a standard deviation.
  return makeMeasured(sigma, "percent", sigma / 2, sigma * 2, frames, {
    assumes: "The interval is a rule for three to five frames, not computed.",
  });
}

/** One-sigma fault of the night's width as a share, as of the field model's seeing. */
const nightFault = 0.01;

function readAirAndGuiding({ stars, removal, nightArcsec }: ReadSide): Quantity {
  if (removal === null || stars === null || !Number.isFinite(nightArcsec))
    return makeUnknown("arcsec", "No stars were measured.");
  const reach = 1.96 * Math.hypot(stars.commonFault, nightFault);
  return makeMeasured(
    nightArcsec,
    "arcsec",
    nightArcsec * (1 - reach),
    nightArcsec * (1 + reach),
    stars.placed.combined.stars.flags.length,
    { assumes: `The night is told by ${removal.basis}.` },
  );
}

/** What a side's records and stars say of its night. */
export function readNightFacts(read: ReadSide): NightFacts {
  const { side } = read;
  const { results, test } = side;
  const conditions = results?.record.conditions ?? {};
  const say = (key: string): string | null =>
    conditions[key] === undefined ? null : String(conditions[key]);
  return {
    date: test?.record.date ?? null,
    frames: side.tables.length,
    exposure: readExposure(read),
    altitude: readAltitude(read),
    seeing: results?.field?.seeing ?? makeUnknown("arcsec", "No field model was fitted."),
    airAndGuiding: readAirAndGuiding(read),
    tracking: results?.field?.tracking.ellipticity ?? makeUnknown("ratio", "No field model was fitted."),
    guidingRms: results?.night?.guidingRms.total ?? makeUnknown("arcsec", "No guiding log is on record."),
    frameScatter: readFrameScatter(read),
    filter: results?.record.filter ?? null,
    target: say("target"),
    moon: say("moon"),
  };
}
