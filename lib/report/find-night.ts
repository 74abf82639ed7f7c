import { formatDate } from "../maths/format-date.ts";
import { isKnown } from "../maths/state-quantity.ts";
import type { Finding, TestResults } from "./results.ts";

/** From this part of the blur at the centre on, guiding is worth mending before the optics are judged (chosen). */
const muchPercent = 25;

/** What the latest logs say of the mount: worth a look where guiding makes up much of the blur, else a note. */
export function findNight(tests: readonly TestResults[]): Finding[] {
  const index = tests.findLastIndex(({ night }) => night !== null && isKnown(night.shareOfBlur));
  const night = tests[index]?.night ?? null;
  if (night === null || !isKnown(night.shareOfBlur)) return [];
  const { ra, dec } = night.guidingRms;
  if (!isKnown(ra) || !isKnown(dec)) return [];
  const much = night.shareOfBlur.lo > muchPercent;
  const windy = isKnown(night.windLink) && night.windLink.lo > 0;
  const gale = windy ? " and grew with the wind" : "";
  return [
    {
      name: "guiding",
      level: much ? "watch" : "note",
      sentence: `By the log of ${formatDate(tests[index].date)} guiding wandered by ${ra.value.toFixed(2)} arcsec in right ascension and ${dec.value.toFixed(2)} arcsec in declination${gale}: at most ${night.shareOfBlur.value.toFixed(0)} % of the blur at the centre.`,
      evidence: [`tests.${index}.night`],
      action: much
        ? `Better ${windy ? "shelter from the wind, balance and guiding" : "balance and guiding"} will sharpen every star more than a spacer can.`
        : null,
    },
  ];
}

export const probe1796082665444 = 1;
