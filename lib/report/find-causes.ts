import { formatTurns } from "../maths/format-turns.ts";
import { nameSide } from "../maths/name-side.ts";
import { isKnown, judgeAtMost, stateQuantity } from "../maths/state-quantity.ts";
import type { TrainEntry } from "../records/types.ts";
import type { Finding, TestResults, TrainResults } from "./results.ts";

const percent = (confidence: number) => `${Math.round(100 * confidence)} %`;

/** Tilt of the latest test against what the record allows; what to turn, or how to find out which side is high. */
export function findTilt(test: TestResults, index: number, most: number | undefined): Finding[] {
  const source = test.sweep ?? test.field;
  const verdict = test.diagnosis?.tilt;
  if (source === null || !isKnown(source.tiltAcross)) return [];
  const from = test.sweep === null ? "field" : "sweep";
  const evidence = [`tests.${index}.${from}.tiltAcross`, `tests.${index}.moves`, `tests.${index}.diagnosis`];
  const { tiltDirection } = source;
  const isTold = (test.moves?.highCorner ?? null) !== null && isKnown(tiltDirection);
  const where = isTold
    ? `; stars focus nearest to the telescope at the ${nameSide(tiltDirection.value)}`
    : "";
  const told = `The sensor is tilted against the focal surface by ${stateQuantity(source.tiltAcross, "um")} across the diagonal${where}`;
  const isRuling = (test.diagnosis?.tiltFrom ?? "frames") === (from === "field" ? "frames" : "sweep");
  const sure = isRuling && verdict?.class === "present" ? ` (confidence ${percent(verdict.confidence)})` : "";
  if (most === undefined) {
    if (verdict?.class === "none" && from === "field") return [];
    return [{ name: "tilt", level: "note", sentence: `${told}${sure}.`, evidence, action: adviseTilt(test) }];
  }
  const level = judgeAtMost(source.tiltAcross, most);
  // The size of a tilt is never below zero, so its interval alone does not show that there is one.
  const isDoubted = isRuling && level !== "fail" && (verdict?.class ?? "present") !== "present";
  const doubt =
    verdict?.class === "none" && level === "pass"
      ? "There is no tilt of the sensor that matters"
      : "A tilt of the sensor is not certain";
  const bound = `${doubt}: it is at most ${source.tiltAcross.hi.toFixed(0)} um across the diagonal`;
  const judged = {
    pass: `within the ${most} um allowed`,
    watch: `whether that keeps to the ${most} um allowed is not certain`,
    fail: `beyond the ${most} um allowed`,
  }[level];
  return [
    {
      name: "tilt",
      level,
      sentence: `${isDoubted ? bound : `${told}${sure}`}; ${judged}.`,
      evidence,
      action: level === "pass" ? null : adviseTilt(test),
    },
  ];
}

function adviseTilt(test: TestResults): string | null {
  const { moves } = test;
  if (moves === null)
    return "No adjuster is on record: shim the camera's flange, or add the adjuster to the record.";
  if (moves.advice !== "turn") return moves.sentence;
  if (moves.screws.every(({ setTurns }) => setTurns === null || setTurns === undefined))
    return moves.sentence;
  const turns = (open: boolean) =>
    moves.screws.flatMap(({ angleDeg, move, setTurns }) => {
      if (!isKnown(move) || !setTurns || setTurns > 0 !== open) return [];
      const turns = formatTurns(setTurns);
      return turns === null ? [] : [`the screw at ${Math.round(angleDeg)} degrees by ${turns}`];
    });
  const ways = [
    { word: "open", list: turns(true) },
    { word: "close", list: turns(false) },
  ].filter(({ list }) => list.length > 0);
  const told = ways.map(({ word, list }) => `${word} ${list.join(" and ")}`).join("; ");
  return `${told.charAt(0).toUpperCase()}${told.slice(1)}; then test again.`;
}

/** A sweep and frames of one test that contradict each other on the tilt. */
function findContradiction(test: TestResults, index: number): Finding[] {
  const sentence = test.diagnosis?.contradiction ?? null;
  if (sentence === null) return [];
  return [
    {
      name: "tilt-contradicted",
      level: "watch",
      sentence,
      evidence: [`tests.${index}.sweep.tiltAcross`, `tests.${index}.field.tiltAcross`],
      action:
        "Test again, sweep and frames one after the other at one altitude; then turn nothing but what both ask for.",
    },
  ];
}

/** Tracking that draws all stars out alike: the mount or the wind, never the optics. */
export function findTracking(test: TestResults, index: number): Finding[] {
  const verdict = test.diagnosis?.tracking;
  const tracking = test.field?.tracking;
  if (verdict?.class !== "present" || tracking === undefined || !isKnown(tracking.ellipticity)) return [];
  const along = isKnown(tracking.angle) ? ` along ${tracking.angle.value.toFixed(0)} degrees` : "";
  return [
    {
      name: "tracking",
      level: "watch",
      sentence: `Tracking draws every star of the frame out alike, by an ellipticity of ${stateQuantity(tracking.ellipticity)}${along}: the mount or the wind, not the optics (confidence ${percent(verdict.confidence)}).`,
      evidence: [`tests.${index}.field.tracking`, `tests.${index}.diagnosis`],
      action: "Look at guiding, balance and wind before judging the corners' shapes.",
    },
  ];
}

const spacingWords = { tooClose: "too close to", tooFar: "too far from" } as const;

/** Arithmetic and stars that contradict each other by more than this are told, mm; rings deviate by less (chosen). */
const contradictionMm = 0.2;

/** What the ledger of the nights, or one night's stars alone, say of the spacing. */
export function findSpacingByStars(results: TrainResults, latest: TestResults, index: number): Finding[] {
  const { ledger } = results;
  const found: Finding[] = [];
  if (ledger !== null && (ledger.stage === "optimum" || ledger.stage === "bracket")) {
    found.push({
      name: "spacing-by-nights",
      level: ledger.stop ? "pass" : "watch",
      sentence: ledger.sentence,
      evidence: ["ledger"],
      action: ledger.stop ? null : sayMove(ledger),
    });
  } else if (latest.diagnosis !== null) {
    const { class: verdict, confidence } = latest.diagnosis.spacing;
    if (verdict === "tooClose" || verdict === "tooFar") {
      found.push({
        name: "spacing-by-stars",
        level: "watch",
        sentence: `By the stars alone the sensor is ${spacingWords[verdict]} the corrector (confidence ${percent(confidence)}).`,
        evidence: [`tests.${index}.diagnosis`, `tests.${index}.field.curvature`],
        action: ledger?.sentence ?? "Test again with another spacer.",
      });
    }
  }
  const best = ledger?.best;
  if (
    isKnown(best) &&
    Math.min(Math.abs(best.lo), Math.abs(best.hi)) > contradictionMm &&
    best.lo * best.hi > 0
  ) {
    found.push({
      name: "stars-against-records",
      level: "watch",
      sentence: `The stars want a spacing ${Math.abs(best.value).toFixed(2)} mm ${best.value > 0 ? "longer" : "shorter"} than the lengths and glass on record make right: a part is not as long as the record says, or the corrector's back focus is not as printed.`,
      evidence: ["ledger", "backFocus"],
      action: "Measure the rings with a caliper, and trust the stars.",
    });
  }
  return found;
}

function sayMove({ nextMove, combination }: NonNullable<TrainResults["ledger"]>): string | null {
  if (!isKnown(nextMove)) return null;
  const way = nextMove.value > 0 ? "Add" : "Take out";
  const made =
    combination === null
      ? ""
      : combination.length === 0
        ? ": no spacer"
        : `: use ${combination.join(" + ")} mm`;
  return `${way} ${Math.abs(nextMove.value).toFixed(2)} mm of spacers${made}, and test again.`;
}

/** Where the tilt sits, once tests at two camera angles or several altitudes tell it. */
export function findTiltOrigin(results: TrainResults): Finding[] {
  const sources = results.tiltSources ?? null;
  if (sources === null || (sources.camera === null && sources.sag === null)) return [];
  return [
    {
      name: "tilt-by-source",
      level: "note",
      sentence: sources.sentence,
      evidence: ["tiltSources"],
      action: null,
    },
  ];
}

/** All that is found of causes, in the order in which one would act on them: tilt, spacing, tracking, origin. */
export function findCauses(
  train: TrainEntry,
  results: TrainResults,
  latest: TestResults,
  index: number,
): Finding[] {
  return [
    ...findTilt(latest, index, train.record.tolerances.tiltAcrossUm),
    ...findContradiction(latest, index),
    ...findSpacingByStars(results, latest, index),
    ...findTracking(latest, index),
    ...findTiltOrigin(results),
  ];
}
