import type { TrainEntry } from "../records/types.ts";
import { findCauses } from "./find-causes.ts";
import { findChange } from "./find-change.ts";
import { findColour } from "./find-colour.ts";
import { findAsymmetry, findCornerEllipticity, findCornerWidth, findRadialSense } from "./find-corners.ts";
import { findLight } from "./find-light.ts";
import { findNight } from "./find-night.ts";
import { findSamplingFit } from "./find-sampling.ts";
import { findSpacing } from "./find-spacing.ts";
import type { Finding, TrainResults } from "./results.ts";

const order: readonly Finding["level"][] = ["fail", "watch", "pass", "note"];

/**
 * What a reader should take away, most important first: fail, watch, pass, note; among equals in the order in which
 * they are asked here. Judged on the latest test with stars; the record's arithmetic on the latest stack.
 */
export function listFindings(train: TrainEntry, results: TrainResults): Finding[] {
  const tested = results.tests.filter((test) => test.zones !== null);
  const latest = tested.at(-1);
  const { tolerances } = train.record;
  const index = latest === undefined ? -1 : results.tests.indexOf(latest);
  const found: Finding[] = [
    ...(latest === undefined
      ? []
      : [
          ...findCauses(train, results, latest, index),
          ...findCornerWidth(latest, index, tolerances),
          ...findAsymmetry(latest, index),
          ...findCornerEllipticity(latest, index, tolerances),
          ...findColour(results.tests, results.sampling.depthOfFocus.value),
        ]),
    ...findSpacing(train, results),
    ...findLight(results.tests, tolerances),
    ...findNight(results.tests),
    ...(latest === undefined
      ? [sayNoStars(results)]
      : [
          ...findChange(tested, results.tests),
          ...findRadialSense(latest, index),
          ...findSamplingFit(results, tested),
        ]),
  ];
  return found.sort((left, right) => order.indexOf(left.level) - order.indexOf(right.level));
}

function sayNoStars(results: TrainResults): Finding {
  const sentence =
    results.tests.length === 0
      ? "No test is on record yet: what stands here follows from the record alone."
      : "No stars were measured yet: what stands here follows from the records alone.";
  return {
    name: "no-stars",
    level: "note",
    sentence,
    evidence: ["tests"],
    action: "Take some frames of a star field in focus and add them to a test.",
  };
}
