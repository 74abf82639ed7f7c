import type { Quantity } from "../maths/quantity.ts";
import type { TestResults } from "../report/results.ts";
import { formatWithInterval } from "./format-number.ts";
import { spellUnits } from "./spell-units.ts";

/** What the page says of a night's logs. */
export interface PageNight {
  sentence: string;
  facts: { label: string; value: string }[];
  notes: string[];
}

/** Guiding and wind of one test; null where the record names no log. */
export function makeNightSection({ night }: TestResults): PageNight | null {
  if (night === null) return null;
  const fact = (label: string, quantity: Quantity | null, sign = false) =>
    quantity === null || quantity.value === null
      ? []
      : [{ label, value: formatWithInterval(quantity, { sign }) }];
  const hasGuiding = night.guidingRms.total.value !== null;
  const whys = hasGuiding ? [night.drift] : [];
  return {
    sentence: spellUnits(night.sentence),
    facts: [
      ...fact("Guiding, right ascension", night.guidingRms.ra),
      ...fact("Guiding, declination", night.guidingRms.dec),
      ...fact("Both together", night.guidingRms.total),
      ...fact("Share of the centre’s blur, at most", night.shareOfBlur),
      ...fact("Ellipticity by guiding alone", night.elongation),
      ...fact("Samples left out", night.excursions),
      ...fact("Drift in declination", night.drift, true),
      ...fact("Polar axis off, at least", night.polarError),
      ...fact("Wind, mean", night.wind),
      ...fact("Wind, gusts", night.gusts),
      ...fact("Guiding error with the wind, rank correlation", night.windLink),
    ],
    notes: [
      ...(hasGuiding
        ? [
            "Each axis by itself, in arcseconds on the sky, within one exposure; “both together” is the root of the sum of their squares. The air’s own dance of the guide star is in it.",
          ]
        : []),
      ...whys.flatMap((quantity) => (quantity.value === null ? [quantity.why] : [])),
    ],
  };
}
