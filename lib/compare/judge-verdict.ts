import { ZONES } from "../field/geometry.ts";
import { makeExact, makeUnknown, type Quantity } from "../maths/quantity.ts";
import type { Comparison, UnitVerdict, Verdict, VerdictUnit, Zone } from "../report/results.ts";
import type { ReadSide } from "./read-side.ts";

/** A verdict without its words. */
export type Judgement = Omit<UnitVerdict, "sentence">;

export const VERDICT_UNITS: readonly VerdictUnit[] = ["px", "um", "arcsec", "matched", "oneNight"];

/**
 * The smallest difference that matters, as a share of the narrower stars' width. Chosen: below it two frames of one steady
 * hour differ as much, and nobody tells two star images apart by eye (common practice, no source).
 */
export const MATTERING_SHARE = 0.05;

/** Half the interval (1.96 sigma) to what is shown four times in five: (1.96 + 0.84) / 1.96, the power of a two-sided test. */
const powerFactor = (1.959964 + 0.841621) / 1.959964;

/**
 * Class of a difference b minus a, where smaller is sharper. Sharper: the 95 % interval leaves out zero and reaches beyond
 * what matters. No difference: all of the interval lies within what matters on both sides (two one-sided tests of
 * equivalence, Schuirmann 1987, J. Pharmacokin. Biopharm. 15:657, at 2.5 % each), whether or not it leaves out zero.
 * Else it cannot be told.
 */
export function classify(difference: Quantity, matters: Quantity): Verdict {
  if (difference.value === null || matters.value === null) return "cannotTell";
  const { lo, hi } = difference;
  if (lo >= -matters.value && hi <= matters.value) return "noDifference";
  if (lo > 0) return "aSharper";
  return hi < 0 ? "bSharper" : "cannotTell";
}

function stateShown(difference: Quantity): Quantity {
  if (difference.value === null) return difference;
  const half = ((difference.hi - difference.lo) / 2) * powerFactor;
  return makeExact(half, difference.unit, {
    source: "half the 95 % interval times (1.96 + 0.84) / 1.96: shown four times in five",
  });
}

function judge(difference: Quantity, matters: Quantity): Judgement {
  return { class: classify(difference, matters), difference, matters, shown: stateShown(difference) };
}

/** Five percent of the narrower of two widths. */
function stateShare(a: Quantity, b: Quantity): Quantity {
  if (a.value === null) return a;
  if (b.value === null) return b;
  return makeExact(MATTERING_SHARE * Math.min(a.value, b.value), a.unit, {
    source: "5 % of the narrower stars; chosen (common practice, no source)",
  });
}

/**
 * What matters of the optics' own blur S, um: the increase that widens the stars of the steadier of the two nights, with a
 * width F in focus, by five percent, taken in quadrature: sqrt((1.05^2 - 1) F^2 + 1.05^2 S^2) - S.
 */
function stateBlurThatMatters(optics: Comparison["zones"]["centre"]["optics"], focusedUm: number): Quantity {
  const { a, b } = optics;
  if (a.value === null) return a;
  if (b.value === null) return b;
  if (!Number.isFinite(focusedUm)) return makeUnknown("um", "The night's own width is not known.");
  const least = Math.min(a.value, b.value);
  const grown = (1 + MATTERING_SHARE) ** 2;
  return makeExact(Math.sqrt((grown - 1) * focusedUm ** 2 + grown * least ** 2) - least, "um", {
    source: "what widens the steadier night's stars by 5 %; chosen (common practice, no source)",
  });
}

/** FWHM in focus on the sensor, um, of the steadier side; NaN where neither is known. */
export function findFocusedUm(a: ReadSide, b: ReadSide): number {
  const widths = [a, b].map(({ removal }) =>
    removal === null ? Number.NaN : Math.exp(removal.best.night.lnWidth),
  );
  return Math.min(...widths);
}

/** The judgement of one zone in every unit. */
export function judgeZone(
  zone: Zone,
  compared: Pick<Comparison, "zones" | "matched" | "matchedWhy">,
  focusedUm: number,
): Record<VerdictUnit, Judgement> {
  const { a, b, difference, optics, underOneNight } = compared.zones[zone];
  const matched = compared.matched?.zones[zone];
  const unmatched = makeUnknown("px", compared.matchedWhy ?? "No frames were resampled.");
  return {
    px: judge(difference.px, stateShare(a.px, b.px)),
    um: judge(optics.difference, stateBlurThatMatters(optics, focusedUm)),
    arcsec: judge(difference.arcsec, stateShare(a.arcsec, b.arcsec)),
    matched:
      matched === undefined
        ? judge(unmatched, unmatched)
        : judge(matched.difference, stateShare(matched.a, matched.b)),
    oneNight: judge(underOneNight.difference, stateShare(underOneNight.a, underOneNight.b)),
  };
}

/** Every zone's judgement. */
export function judgeZones(
  compared: Pick<Comparison, "zones" | "matched" | "matchedWhy">,
  focusedUm: number,
): Record<Zone, Record<VerdictUnit, Judgement>> {
  return Object.fromEntries(ZONES.map((zone) => [zone, judgeZone(zone, compared, focusedUm)])) as Record<
    Zone,
    Record<VerdictUnit, Judgement>
  >;
}
