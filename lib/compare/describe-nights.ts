import { makeExact, makeUnknown } from "../maths/quantity.ts";
import type { ComparedNights, NightFacts, Verdict, VerdictUnit } from "../report/results.ts";
import { MATTERING_SHARE } from "./judge-verdict.ts";
import { readNightFacts } from "./read-nights.ts";
import { chooseCommonNight, type ReadSide } from "./read-side.ts";
import { sayCount, sayNumber } from "./say-number.ts";

const dayMs = 24 * 3600 * 1000;

function countDaysApart(a: string | null, b: string | null): number | null {
  if (a === null || b === null) return null;
  const days = Math.abs(Date.parse(a) - Date.parse(b)) / dayMs;
  return Number.isFinite(days) ? Math.round(days) : null;
}

/** What one night was like, as a part of a sentence; what is not known is left out. */
function describeNight(name: "A" | "B", night: NightFacts): string {
  const exposure = night.exposure.value === null ? "" : ` of ${sayNumber(night.exposure.value, 0)} s`;
  const altitude =
    night.altitude.value === null ? "" : ` at ${sayNumber(night.altitude.value, 0)} degrees altitude`;
  const air =
    night.airAndGuiding.value === null
      ? ""
      : `, air and guiding together ${sayNumber(night.airAndGuiding.value, 2)} arcsec`;
  const seeing = night.seeing.value === null ? "" : ` (seeing ${sayNumber(night.seeing.value, 2)} arcsec)`;
  const frames = night.frames === 0 ? "no frame measured" : `${sayCount(night.frames, "frame")}${exposure}`;
  return `${name}: ${frames}${altitude}${air}${seeing}`;
}

/**
 * What altitude alone makes of the seeing: airmass to the power 0.6 (Fried 1966, JOSA 56:1372), airmass as the secant of the
 * zenith distance, good to 0.3 % above 20 degrees. b over a.
 */
function computeAltitudeRatio(a: NightFacts, b: NightFacts): number | null {
  if (a.altitude.value === null || b.altitude.value === null) return null;
  const sines = [a, b].map(({ altitude }) => Math.sin(((altitude.value ?? 90) * Math.PI) / 180));
  if (!(sines[0] > 0.3 && sines[1] > 0.3)) return null;
  return (sines[0] / sines[1]) ** 0.6;
}

function describeAltitude(a: NightFacts, b: NightFacts): string {
  const ratio = computeAltitudeRatio(a, b);
  if (ratio === null || Math.abs(ratio - 1) < 0.01) return "";
  const percent = sayNumber(Math.abs(100 * (ratio - 1)), 0);
  return ` By its altitude alone B's seeing would be ${percent} % ${ratio > 1 ? "worse" : "better"} than A's.`;
}

function describeApart(a: NightFacts, b: NightFacts, sameNight: boolean): string {
  if (sameNight) return "Both were taken on one night";
  const days = countDaysApart(a.date, b.date);
  if (days === null) return "The nights";
  return `The two were taken ${sayCount(days, "night")} apart, so the night stands between them`;
}

/** Fewest frames a side worth asking for, and most that one night bears: common practice, no source. */
const framesAsked = { least: 10, most: 40 };

/**
 * Frames a side for an interval of half the difference that matters: n = 2 (1.96 s / (m / 2))^2 with the scatter s from
 * frame to frame and m = 5 %, of two means of n frames each.
 */
export function countFramesToShoot(a: NightFacts, b: NightFacts): number {
  const scatters = [a, b].flatMap(({ frameScatter }) =>
    frameScatter.value === null ? [] : [frameScatter.value / 100],
  );
  const sigma = scatters.length === 0 ? 0 : Math.max(...scatters);
  const wanted = Math.ceil(2 * ((1.96 * sigma) / (MATTERING_SHARE / 2)) ** 2);
  return Math.min(framesAsked.most, Math.max(framesAsked.least, wanted));
}

/** What to shoot to settle what the verdict leaves open. */
function listShots(
  a: NightFacts,
  b: NightFacts,
  sameNight: boolean,
  classes: Record<VerdictUnit, Verdict>,
): string[] {
  const shots: string[] = [];
  const open = [classes.arcsec, classes.oneNight, classes.um].includes("cannotTell");
  const contradict = classes.arcsec !== classes.oneNight;
  if ((!sameNight && (open || contradict)) || (sameNight && open)) {
    const frames = countFramesToShoot(a, b);
    shots.push(
      `To settle it, shoot both on one night in turn (A, B, A, B), ${frames} frames of each altogether, of one field at one altitude with one exposure, and refocus at each change.`,
    );
  }
  const few = (
    [
      ["A", a],
      ["B", b],
    ] as const
  ).filter(({ 1: night }) => night.frames > 0 && night.frames < 3);
  for (const [name, night] of few) {
    shots.push(
      `${name} rests on ${sayCount(night.frames, "frame")}: three or more tell how much the night changed from frame to frame.`,
    );
  }
  for (const [name, night] of [
    ["A", a],
    ["B", b],
  ] as const) {
    if (night.frames === 0)
      shots.push(`Measure star fields for ${name}: without them only records can be compared.`);
  }
  if (classes.um === "cannotTell" && a.frames > 0 && b.frames > 0) {
    shots.push(
      "For the optics' own blur, add two frames out of focus by a known amount on either side, or a focus sweep: they tell the optics from the air without waiting for a better night.",
    );
  }
  const gap =
    a.altitude.value === null || b.altitude.value === null
      ? 0
      : Math.abs(a.altitude.value - b.altitude.value);
  if (gap > 10)
    shots.push(`The altitudes differ by ${sayNumber(gap, 0)} degrees: choose fields of one altitude.`);
  return shots;
}

/** Both nights with how far they differ; what to shoot follows from the corners' classes. */
export function compareNights(
  a: ReadSide,
  b: ReadSide,
  classes: Record<VerdictUnit, Verdict>,
): ComparedNights {
  const [first, second] = [readNightFacts(a), readNightFacts(b)];
  const sameNight = first.date !== null && first.date === second.date;
  const common = chooseCommonNight(a, b);
  const facts = [describeNight("A", first), describeNight("B", second)].join("; ");
  return {
    a: first,
    b: second,
    sameNight,
    commonNight: Number.isFinite(common)
      ? makeExact(common, "arcsec", {
          assumes: "The mean of both nights; any other would order the two alike.",
        })
      : makeUnknown("arcsec", "The night of at least one side is not known."),
    sentence: `${describeApart(first, second, sameNight)}. ${facts}.${describeAltitude(first, second)}`,
    shoot: listShots(first, second, sameNight, classes),
  };
}
