import { isKnown, stateQuantity } from "../maths/state-quantity.ts";
import type { Tolerances } from "../records/types.ts";
import { chooseLightChannel } from "./light-stage.ts";
import type { Finding, TestResults } from "./results.ts";

type Light = NonNullable<TestResults["illumination"]>[string];

/** What a reader should know of the light: corner light against what is asked, its cause and the ring to change. */
export function findLight(tests: readonly TestResults[], tolerances: Tolerances): Finding[] {
  const index = tests.findLastIndex(({ illumination }) => illumination !== null);
  if (index < 0) return findPredictedLight(tests, tolerances);
  const test = tests[index];
  const channels = Object.keys(test.illumination ?? {});
  const channel = chooseLightChannel(channels);
  const light = test.illumination?.[channel];
  if (light === undefined) return [];
  return [
    ...findCornerLight(test, index, channel, light, tolerances),
    ...findGradient(index, channel, light),
    ...findCamera(index, channel, light),
  ];
}

function findCornerLight(
  test: TestResults,
  index: number,
  channel: string,
  light: Light,
  tolerances: Tolerances,
): Finding[] {
  const mean = light.cornerMean;
  if (!isKnown(mean)) return [];
  const asked = tolerances.cornerLightPercent;
  const evidence = [
    `tests.${index}.illumination.${channel}.corners`,
    `tests.${index}.illumination.${channel}.falloff`,
    ...(test.rings === null ? [] : [`tests.${index}.rings.together`]),
  ];
  const cause = test.lightCause?.sentence ?? `The corners keep ${stateQuantity(mean, "%")} of the light.`;
  const level = asked === undefined ? "note" : mean.lo >= asked ? "pass" : mean.hi < asked ? "fail" : "watch";
  const judged =
    asked === undefined
      ? ""
      : level === "watch"
        ? ` Whether that keeps to the ${asked} % asked for is not certain.`
        : ` At least ${asked} % is asked for.`;
  return [
    {
      name: "corner-light",
      level,
      sentence: `${cause}${judged}`,
      evidence,
      action: adviseRing(test, level),
    },
  ];
}

/** The ring that would bring the corners back, where it is the rings that darken them. */
function adviseRing(test: TestResults, level: Finding["level"]): string | null {
  const { rings, lightCause } = test;
  if (level === "pass" || level === "note") return null;
  if (lightCause?.class === "telescope" || lightCause?.class === "unknown") {
    return lightCause.class === "telescope"
      ? "No ring on record is to blame: a wider one gains nothing. Flats divide the fall-off out; longer exposures bring the corners' signal back."
      : "State clearDiameterMm of the parts in train.yaml: measured with a caliper, they tell which ring limits.";
  }
  if (lightCause?.class === "brighterThanRecords")
    return "Measure the clear diameters with a caliper, and state corrector.exitPupilMm where the maker tells it.";
  const wider = rings?.nextWider;
  const name = rings?.limitingRing;
  if (wider === null || wider === undefined || name === null || name === undefined) return null;
  if (!isKnown(wider.together) || !isKnown(rings?.together)) return null;
  const sizes = rings.sizes.filter(({ size }) => size !== "as it is" && !size.startsWith("smallest"));
  const enough = sizes.find(({ together }) => isKnown(together) && together.value >= rings.asked.percent);
  const better = enough ?? wider;
  if (!isKnown(better.together)) return null;
  const from = isKnown(lightCause?.measured) ? lightCause.measured.value : rings.together.value;
  const own = isKnown(lightCause?.own) ? lightCause.own.value / 100 : 1;
  const to = better.together.value * own;
  return `With ${better.clearDiameterMm.toFixed(1)} mm clear (${better.size}) in place of the ${name}, the corners would come from ${from.toFixed(0)} to ${to.toFixed(0)} %.`;
}

/** Where there are no flats: what the rings on record foretell. */
function findPredictedLight(tests: readonly TestResults[], tolerances: Tolerances): Finding[] {
  const index = tests.findLastIndex(({ rings }) => rings !== null);
  const rings = tests[index]?.rings;
  if (index < 0 || rings === null || rings === undefined || !isKnown(rings.together)) return [];
  const asked = tolerances.cornerLightPercent;
  const told =
    rings.limitingRing === null
      ? "By the record no ring takes more than 1 % of the light in the corners"
      : `By the record the ${rings.limitingRing} limits the light: the rings together leave ${rings.together.value.toFixed(0)} % in the corners`;
  const short = asked !== undefined && rings.together.hi < asked;
  return [
    {
      name: "corner-light-by-records",
      level: short ? "watch" : "note",
      sentence: short ? `${told}, below the ${asked} % asked for.` : `${told}.`,
      evidence: [`tests.${index}.rings`],
      action: short ? "Take flats to see whether it is so, before buying a ring." : null,
    },
  ];
}

/** Below this the gradient of a flat's source is ordinary, percent across the diagonal (chosen). */
const gradientWorthSaying = 2;

function findGradient(index: number, channel: string, light: Light): Finding[] {
  const { size, angle } = light.gradient;
  if (!isKnown(size) || size.lo < gradientWorthSaying) return [];
  const where = isKnown(angle) ? ` towards ${angle.value.toFixed(0)}°` : "";
  return [
    {
      name: "light-gradient",
      level: "note",
      sentence: `The light of the flats grows by ${stateQuantity(size, "%")} across the diagonal${where}, apart from the part that is symmetric: a lopsided source does that, and so does a part off centre.`,
      evidence: [`tests.${index}.illumination.${channel}.gradient`],
      action:
        "Take flats with the light source turned by 90 degrees: what turns with it is the source's, the rest is the train's.",
    },
  ];
}

/** A gain off the record's by more than this share is told (chosen: gain settings differ by more). */
const gainPlay = 0.05;

function findCamera(index: number, channel: string, light: Light): Finding[] {
  const { gain, recordedGain } = light;
  if (!isKnown(gain) || recordedGain === null) return [];
  if (
    Math.abs(gain.value / recordedGain - 1) <= gainPlay ||
    (gain.lo <= recordedGain && gain.hi >= recordedGain)
  )
    return [];
  return [
    {
      name: "camera-gain",
      level: "watch",
      sentence: `Pairs of flats give ${stateQuantity(gain, "electrons per ADU")}; the record says ${recordedGain}.`,
      evidence: [`tests.${index}.illumination.${channel}.gain`],
      action:
        "Correct gainElectronsPerAdu, or look whether flats and star frames were taken at different gain settings.",
    },
  ];
}
