import { makeExact, type Quantity } from "../maths/quantity.ts";
import type { TestRecord, TrainRecord } from "../records/types.ts";
import { computeBackFocus } from "./back-focus.ts";
import { chooseSpacers, poolSpacers } from "./choose-spacers.ts";
import { applyTest, listSpacers } from "./stack.ts";

/** What the record's arithmetic says to do with the spacers. */
export interface SpacingAdvice {
  /** mm, to add (positive) or remove (negative). */
  change: Quantity;
  /** The spacers to use from now on, of those owned and those in the stack, mm; null where they are as they should be. */
  combination: number[] | null;
  /** Spacing error that then remains, mm. */
  remaining: Quantity;
  sentence: string;
}

/**
 * Closer than this nothing is to be done: threads and the flatness of rings leave as much.
 * Common practice, no source; a record's own `spacingErrorMm` tolerance stands in its place where it is tighter.
 */
const closeEnoughMm = 0.05;

const write = (lengthMm: number): string => `${String(Math.round(Math.abs(lengthMm) * 100) / 100)} mm`;
const list = (spacersMm: readonly number[]): string =>
  spacersMm.length === 0 ? "no spacer" : `${spacersMm.join(" + ")} mm`;

/**
 * What to add or remove so that the record's arithmetic comes out, with the spacers at hand. From the train as it is on
 * record, or as it was in a test. Null without a corrector.
 */
export function adviseSpacing(train: TrainRecord, test?: TestRecord): SpacingAdvice | null {
  const state = test === undefined ? train : applyTest(train, test);
  const error = computeBackFocus(state)?.spacingError;
  return error === undefined || error.value === null ? null : adviseLength(error.value, state);
}

/** The same for a change that was found in another way, such as a ledger of nights: `errorMm` positive, too far. */
export function adviseLength(errorMm: number, state: TrainRecord): SpacingAdvice {
  const inStack = listSpacers(state);
  const present = inStack.reduce((sum, spacer) => sum + spacer, 0);
  const wanted = present - errorMm;
  const choice = chooseSpacers(wanted, poolSpacers(state.spacersOwnedMm, inStack));
  const change = makeExact(-errorMm, "mm", {
    formula: "-s",
    working: `-(${Number(errorMm.toPrecision(7))} mm)`,
    source: "the spacing error with its sign turned",
  });
  const close = Math.min(closeEnoughMm, state.tolerances.spacingErrorMm ?? closeEnoughMm);
  // "No better" within a micrometre of rounding keeps a stack that is as good as the best choice.
  const noBetter = Math.abs(choice.excessMm) > Math.abs(errorMm) - 0.001;
  if (Math.abs(errorMm) <= close || noBetter) {
    return {
      change,
      combination: null,
      remaining: makeExact(errorMm, "mm"),
      sentence: sayKeep(errorMm, close),
    };
  }
  return {
    change,
    combination: choice.spacersMm,
    remaining: makeExact(choice.excessMm, "mm"),
    sentence: sayChange(errorMm, inStack, choice.spacersMm, choice.excessMm, close),
  };
}

function sayKeep(errorMm: number, close: number): string {
  if (Math.abs(errorMm) <= close) {
    return `The sensor stands within ${close} mm of the distance required: nothing to add or remove.`;
  }
  return errorMm > 0
    ? `The sensor is ${write(errorMm)} too far away, and no choice of the spacers at hand brings it closer to the mark: a shorter part or a thinner spacer is needed.`
    : `The sensor is ${write(errorMm)} too close, and no choice of the spacers at hand brings it closer to the mark: a spacer of about ${write(errorMm)} is needed.`;
}

function sayChange(
  errorMm: number,
  before: readonly number[],
  after: readonly number[],
  excessMm: number,
  close: number,
): string {
  const wanted =
    errorMm > 0
      ? `The sensor is ${write(errorMm)} too far away: ${write(errorMm)} must come out.`
      : `The sensor is ${write(errorMm)} too close: ${write(errorMm)} must go in.`;
  const swap = `Use ${list(after)} in place of ${list(before)}`;
  if (Math.abs(excessMm) <= close) return `${wanted} ${swap}; that leaves ${writeRest(excessMm)}.`;
  const rest =
    excessMm > 0
      ? "too far; a shorter part is needed for the rest"
      : "too close; another spacer is needed for the rest";
  return `${wanted} ${swap}: the nearest the spacers at hand allow. ${write(excessMm)} ${rest}.`;
}

function writeRest(excessMm: number): string {
  return Math.abs(excessMm) < 0.005
    ? "nothing to speak of"
    : `${write(excessMm)} ${excessMm > 0 ? "too far" : "too close"}`;
}
