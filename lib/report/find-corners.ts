import { MATTERING_SHARE } from "../compare/judge-verdict.ts";
import { CORNERS } from "../field/geometry.ts";
import type { KnownQuantity } from "../maths/quantity.ts";
import { isKnown, judgeAtMost, stateChange, stateQuantity } from "../maths/state-quantity.ts";
import type { Tolerances } from "../records/types.ts";
import type { Corner, Finding, TestResults } from "./results.ts";

export const CORNER_WORDS: Readonly<Record<Corner, string>> = {
  upperLeft: "upper left",
  upperRight: "upper right",
  lowerLeft: "lower left",
  lowerRight: "lower right",
};

/** "The corners' stars are 18 % (14 to 22 %) wider", or narrower, or as wide. */
function compareWidths(ratio: KnownQuantity, subject: string, object: string): string {
  if (ratio.lo <= 1 && ratio.hi >= 1) {
    return `${subject} are not measurably wider or narrower than ${object}: the difference is ${stateChange(ratio)}`;
  }
  if (ratio.value > 1) return `${subject} are ${stateChange(ratio)} wider than ${object}`;
  const inverse = { ...ratio, value: 2 - ratio.value, lo: 2 - ratio.hi, hi: 2 - ratio.lo };
  return `${subject} are ${stateChange(inverse)} narrower than ${object}`;
}

/** Width of the corners over the centre, all four together, against the tolerance. */
export function findCornerWidth(test: TestResults, index: number, tolerances: Tolerances): Finding[] {
  const ratio = test.contrasts?.overCentre.corner;
  if (!isKnown(ratio)) return [];
  const most = tolerances.cornerFwhmOverCentre;
  const told = compareWidths(ratio, "Stars in the corners", "those in the centre");
  const evidence = [
    `tests.${index}.contrasts.overCentre.corner`,
    `tests.${index}.zones.corner.fwhm`,
    `tests.${index}.zones.centre.fwhm`,
  ];
  if (most === undefined)
    return [{ name: "corner-width", level: "note", sentence: `${told}.`, evidence, action: null }];
  const level = judgeAtMost(ratio, most);
  const allowed = `${Math.round(100 * (most - 1))} %`;
  const judged = {
    pass: `within the ${allowed} allowed`,
    watch: `whether that keeps to the ${allowed} allowed is not certain`,
    fail: `beyond the ${allowed} allowed`,
  }[level];
  const action = {
    pass: null,
    watch: "Take more frames, or frames on a steadier night, to settle it.",
    fail: "Look at spacing and tilt before judging the optics: test again with another spacer.",
  }[level];
  return [{ name: "corner-width", level, sentence: `${told}; ${judged}.`, evidence, action }];
}

/** Ellipticity of the corners, all four together, against the tolerance. */
export function findCornerEllipticity(test: TestResults, index: number, tolerances: Tolerances): Finding[] {
  const ellipticity = test.zones?.corner.ellipticity;
  if (!isKnown(ellipticity)) return [];
  const most = tolerances.cornerEllipticity;
  const evidence = [`tests.${index}.zones.corner.ellipticity`, `tests.${index}.zones.corner.radial`];
  const told = `Stars in the corners have an ellipticity of ${stateQuantity(ellipticity)}`;
  if (most === undefined)
    return [{ name: "corner-ellipticity", level: "note", sentence: `${told}.`, evidence, action: null }];
  const level = judgeAtMost(ellipticity, most);
  const judged = { pass: "within", watch: "not certainly within", fail: "above" }[level];
  return [
    {
      name: "corner-ellipticity",
      level,
      sentence: `${told}, ${judged} the ${most} allowed.`,
      evidence,
      action:
        level === "fail"
          ? "See whether it follows the radius (spacing), one side (tilt) or is the same everywhere (tracking)."
          : null,
    },
  ];
}

/** A difference below one percent is measurable with thousands of stars and matters to nobody (chosen). */
const leastDifference = 1.01;

/** Opposite corners that differ by more than their intervals: what tilt or decentring does, and spacing cannot. */
export function findAsymmetry(test: TestResults, index: number): Finding[] {
  const contrasts = test.contrasts;
  if (contrasts === null || contrasts === undefined) return [];
  const diagonals = [
    { key: "lowerRightOverUpperLeft", above: "lowerRight", below: "upperLeft" },
    { key: "lowerLeftOverUpperRight", above: "lowerLeft", below: "upperRight" },
  ] as const;
  return diagonals.flatMap(({ key, above, below }): Finding[] => {
    const ratio = contrasts[key];
    if (!isKnown(ratio) || (ratio.lo <= 1 && ratio.hi >= 1)) return [];
    const wider =
      ratio.value > 1 ? ratio : { ...ratio, value: 1 / ratio.value, lo: 1 / ratio.hi, hi: 1 / ratio.lo };
    if (wider.value < leastDifference) return [];
    const [wide, narrow] = ratio.value > 1 ? [above, below] : [below, above];
    const matters = wider.hi > 1 + MATTERING_SHARE;
    const judged = matters
      ? "spacing alone makes opposite corners alike"
      : `below ${100 * MATTERING_SHARE} % nobody sees it`;
    return [
      {
        name: "opposite-corners",
        level: matters ? "watch" : "note",
        sentence: `Stars in the ${CORNER_WORDS[wide]} corner are ${stateChange(wider)} wider than in the opposite ${CORNER_WORDS[narrow]} corner; ${judged}.`,
        evidence: [
          `tests.${index}.contrasts.${key}`,
          `tests.${index}.zones.${wide}.fwhm`,
          `tests.${index}.zones.${narrow}.fwhm`,
        ],
        action: matters
          ? "Look for tilt or a corrector that sits off centre: turn the camera by 180 degrees and test again."
          : null,
      },
    ];
  });
}

/** Corners that the diagnosis calls drawn out that way; all of them where there is no diagnosis. */
function listSure(test: TestResults, judged: "radial" | "tangential"): Corner[] {
  return CORNERS.filter((corner) => (test.diagnosis?.corners[corner].class ?? judged) === judged);
}

/**
 * The same direction of the long axes, along or across the radius, in all four corners. The medians tell it of the corners
 * together; of single corners no more is said than the diagnosis does.
 */
export function findRadialSense(test: TestResults, index: number): Finding[] {
  if (test.zones === null) return [];
  const zones = test.zones;
  const radials = CORNERS.map((corner) => zones[corner].radial);
  if (!radials.every(isKnown)) return [];
  const isAlong = radials.every(({ lo }) => lo > 0);
  if (!isAlong && !radials.every(({ hi }) => hi < 0)) return [];
  if (CORNERS.every((corner) => test.diagnosis?.corners[corner].class === "round")) return [];
  const sure = listSure(test, isAlong ? "radial" : "tangential");
  const size = isKnown(zones.corner.radial)
    ? `; their median radial elongation is ${stateQuantity(zones.corner.radial)}`
    : "";
  const way = isAlong ? "point away from the centre" : "lie across the direction from the centre";
  const [last, ...others] = sure.map((corner) => CORNER_WORDS[corner]).reverse();
  const named = others.length === 0 ? last : `${others.reverse().join(", ")} and ${last}`;
  const where =
    last === undefined
      ? "Of no corner by itself is that certain."
      : `Corner by corner that is certain in the ${named} alone.`;
  const sentence =
    sure.length === CORNERS.length
      ? `In all four corners the stars' long axes ${way}${size}.`
      : `Taken together, the corner stars' long axes ${way}${size}. ${where}`;
  const evidence = CORNERS.map((corner) => `tests.${index}.zones.${corner}.radial`);
  return [{ name: "long-axes", level: "note", sentence, evidence, action: null }];
}
