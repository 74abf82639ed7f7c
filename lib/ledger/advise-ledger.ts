import { makeExact, makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import type { TrainRecord } from "../records/types.ts";
import { adviseLength } from "../train/advise-spacing.ts";
import type { BestSpacing } from "./best-spacing.ts";
import type { LedgerNight } from "./night.ts";

export interface LedgerAdvice {
  best: Quantity;
  /** What the nights amount to: nothing yet, a side to go to, a bracket, an optimum. */
  stage: "nothing" | "direction" | "bracket" | "optimum";
  /** Spacing errors between which the best lies, mm, where two nights bracket it. */
  bracketMm: [number, number] | null;
  nextMove: Quantity;
  combination: number[] | null;
  /** True: nothing is to be gained by another spacer, or less than one night differs from the next. */
  stop: boolean;
  sentence: string;
}

export interface AdviceRequest {
  /** In order of date, signs settled. */
  nights: readonly LedgerNight[];
  best: BestSpacing;
  signsSettled: boolean;
  /** The train with the stack of the latest night. */
  state: TrainRecord;
  /** Curvature that leaves the corners within the depth of focus, um/mm2; null where the optics are not known. */
  harmlessCurvature: number | null;
  /** Corner width over focused width now and at the best spacing, and by how much one night differs from the next. */
  gain: { now: number; atBest: number; nightScatter: number } | null;
}

const write = (mm: number) => `${Math.abs(mm).toFixed(2)} mm`;
const signed = (mm: number) => `${mm > 0 ? "+" : mm < 0 ? "−" : ""}${Math.abs(mm).toFixed(2)}`;
const place = (mm: number) => `${signed(mm)} mm`;

/**
 * What to do with the spacers after the nights so far. One night gives a direction at most; nights at two spacings give a
 * bracket, and the straight line between them the next try; three spacings and more an optimum with its interval.
 */
export function adviseLedger(request: AdviceRequest): LedgerAdvice {
  const { best, nights } = request;
  const latest = nights.findLast(({ spacingMm }) => spacingMm !== null);
  if (latest === undefined || best.nights === 0)
    return sayNothing("No night has both a spacing and stars measured.");
  if (best.spacings <= 1) return adviseDirection(request, latest);
  if (best.best === null) return sayNothing("The nights' lines in the spacing cannot be drawn.");
  if (best.spacings === 2) return adviseBracket(request, latest);
  return adviseOptimum(request, latest);
}

function sayNothing(why: string): LedgerAdvice {
  return {
    best: makeUnknown("mm", why),
    stage: "nothing",
    bracketMm: null,
    nextMove: makeUnknown("mm", why),
    combination: null,
    stop: false,
    sentence: why,
  };
}

function adviseDirection(
  { nights, best, state, harmlessCurvature }: AdviceRequest,
  latest: LedgerNight,
): LedgerAdvice {
  const why = `All ${best.nights === 1 ? "that is measured is one night" : `${best.nights} nights are`} at one spacing: that gives a direction at most.`;
  const base = sayNothing(why);
  const rule = state.corrector?.radialMeans ?? "unknown";
  const radial = nights.findLast((night) => night.radial !== null)?.radial ?? null;
  const surface = latest.surface?.signKnown ? latest.surface.curvature : null;
  if (surface !== null && harmlessCurvature !== null && Math.abs(surface.value) < harmlessCurvature) {
    return {
      ...base,
      nextMove: makeExact(0, "mm", { assumes: why }),
      stop: true,
      sentence: `${why} At this one the field is flat within the depth of focus: there is nothing to gain by another spacer.`,
    };
  }
  const byCurvature =
    surface !== null && Math.abs(surface.value) > 1.96 * surface.sigma ? Math.sign(surface.value) : 0;
  const byRule =
    radial === null || rule === "unknown" || Math.abs(radial.value) < 1.96 * radial.sigma
      ? 0
      : Math.sign(radial.value) * (rule === "tooFar" ? 1 : -1);
  const side = byCurvature !== 0 ? byCurvature : byRule;
  if (side === 0) {
    return {
      ...base,
      sentence: `${why} Test again with another spacer, some tenths of a millimetre thicker or thinner, to see to which side the corners improve.`,
    };
  }
  const [now, then] = side > 0 ? ["too far", "thinner"] : ["too close", "thicker"];
  const by = byCurvature !== 0 ? "the sign of its curvature" : "the corrector's rule on record (radialMeans)";
  return {
    ...base,
    stage: "direction",
    sentence: `One spacing so far: by ${by} the sensor is ${now}. Test next with a ${then} spacer; how much cannot be told from one.`,
  };
}

/** Nights on both sides of the best bracket it. */
function findBracket(nights: readonly LedgerNight[], value: number): [number, number] | null {
  const placed = nights.flatMap(({ spacingMm }) => (spacingMm === null ? [] : [spacingMm]));
  const below = placed.filter((s) => s <= value);
  const above = placed.filter((s) => s >= value);
  return below.length > 0 && above.length > 0 ? [Math.max(...below), Math.min(...above)] : null;
}

function adviseBracket(request: AdviceRequest, latest: LedgerNight): LedgerAdvice {
  const { best, nights, state } = request;
  const found = best.best!;
  const bracket = findBracket(nights, found.value);
  if (found.lo === null || found.hi === null) {
    return sayNothing(
      "Two spacings that cannot be told apart by their corners say nothing of the best one: test at a third, further off.",
    );
  }
  const next = latest.spacingMm! - found.value;
  const advice = adviseLength(next, state);
  const sentence =
    bracket === null
      ? `Both spacings lie on one side of the best: go on towards ${place(found.value)}, where the straight line through the two nights comes to zero.`
      : `Two spacings give a bracket: the best lies between ${place(bracket[0])} and ${place(bracket[1])}. Test next at about ${place(found.value)}, where the straight line through the two nights crosses zero.`;
  return {
    best: makeUnknown(
      "mm",
      "Two spacings give a bracket, not an optimum: a straight line fits any two nights.",
    ),
    stage: "bracket",
    bracketMm: bracket,
    nextMove: makeMeasured(
      -next,
      "mm",
      found.lo - latest.spacingMm!,
      found.hi - latest.spacingMm!,
      best.nights,
    ),
    combination: advice.combination,
    stop: false,
    sentence: `${sentence}${sayCombination(advice.combination)}`,
  };
}

function sayCombination(combination: number[] | null): string {
  if (combination === null) return "";
  return combination.length === 0
    ? " That is no spacer at all."
    : ` Of the spacers owned: ${combination.join(" + ")} mm.`;
}

function adviseOptimum(request: AdviceRequest, latest: LedgerNight): LedgerAdvice {
  const { best, state, gain, nights } = request;
  const found = best.best!;
  const source =
    found.from === "surface"
      ? "least corner blur by the lines of curvature and astigmatism; interval by Fieller 1954, J. R. Statist. Soc. B 16:175"
      : "zero of the corners' radial elongation; interval by Fieller 1954, J. R. Statist. Soc. B 16:175";
  if (found.lo === null || found.hi === null) {
    const why = `Over ${best.nights} nights at ${best.spacings} spacings the corners do not change beyond their scatter: no finite interval holds the best spacing.`;
    return {
      ...sayNothing(why),
      sentence: `${why} Test at a spacing further off, half a millimetre or more.`,
    };
  }
  const bestQuantity = makeMeasured(found.value, "mm", found.lo, found.hi, best.nights, { source });
  const error = latest.spacingMm! - found.value;
  const half = (found.hi - found.lo) / 2;
  const within = latest.spacingMm! >= found.lo && latest.spacingMm! <= found.hi;
  const small = gain !== null && gain.now - gain.atBest < gain.nightScatter;
  const told = `The corners are best at a spacing error of ${place(found.value)} (${signed(found.lo)} to ${signed(found.hi)}), from ${best.nights} nights at ${best.spacings} spacings`;
  const outside =
    findBracket(nights, found.value) === null
      ? " That lies beyond the spacings tried, so test there before trusting it."
      : "";
  if (within || small) {
    const why = within
      ? "The latest spacing lies within this interval"
      : `A change would gain ${sayShare(gain!.now - gain!.atBest)} of a star's width in the corners, less than one night differs from the next (${sayShare(gain!.nightScatter)})`;
    return {
      best: bestQuantity,
      stage: "optimum",
      bracketMm: findBracket(nights, found.value),
      nextMove: makeExact(0, "mm", { assumes: `${why}.` }),
      combination: null,
      stop: true,
      sentence: `${told}. ${why}: leave the spacers as they are.${outside}`,
    };
  }
  const advice = adviseLength(error, state);
  const way = error > 0 ? `take out ${write(error)}` : `add ${write(error)}`;
  return {
    best: bestQuantity,
    stage: "optimum",
    bracketMm: findBracket(nights, found.value),
    nextMove: makeMeasured(-error, "mm", -error - half, -error + half, best.nights),
    combination: advice.combination,
    stop: false,
    sentence: `${told}: ${way}.${sayCombination(advice.combination)}${outside}`,
  };
}

function sayShare(share: number): string {
  return share < 0.01 ? "less than 1 %" : `${(100 * share).toFixed(0)} %`;
}
