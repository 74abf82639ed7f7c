import { TERM } from "./field-model.ts";
import type { FieldFit, RadialMeans } from "./fit-field.ts";
import { negateField } from "./search-valleys.ts";

/** What long axes along the radius mean for the corrector, and who says so. */
export interface SignRule {
  radialMeans: RadialMeans;
  from: "record" | "ledger";
}

/** The fit and its draws, turned so that heights have their sign where it can be told. */
export interface OrientedFields {
  best: Float64Array;
  draws: Float64Array[];
  signKnown: boolean;
  /** Why the sign is known, or why not: one or two sentences. */
  why: string;
  /** The rule that the sign rests on; null where frames at known focus offsets tell it, or nothing does. */
  rule: SignRule | null;
}

/** A sign is called known when at most this share of the fields that agree with the stars has the other. */
const doubtAllowed = 0.025;

function describeRule(rule: SignRule): string {
  const by =
    rule.from === "ledger"
      ? "this train's own tests (spacings tried, or a focus sweep)"
      : "the record (radialMeans)";
  const meaning =
    rule.radialMeans === "tooClose"
      ? "stars drawn out away from the centre lie where the sensor is too close"
      : "stars drawn out away from the centre lie where the sensor is too far";
  return `The sign of the heights rests on ${by}: ${meaning}.`;
}

/** Whether two fields are nearer to each other than one is to the other's negative, weighed by the blur they make. */
function agreeInSign(a: Float64Array, b: Float64Array, halfDiagonalMm: number): boolean {
  const r = halfDiagonalMm;
  const product =
    a[TERM.defocus] * b[TERM.defocus] +
    ((a[TERM.tiltX] * b[TERM.tiltX] + a[TERM.tiltY] * b[TERM.tiltY]) * r ** 2) / 4 +
    ((a[TERM.curvature] * b[TERM.curvature] + a[TERM.astigmatism] * b[TERM.astigmatism]) * r ** 4) / 4;
  return product >= 0;
}

/**
 * Gives the heights their sign. Frames at different known focus offsets tell it outright. Of a single frame in focus a
 * field and its negative look the same, and only the corrector's rule decides: long axes along the radius mean that
 * mean height and astigmatism have one sign, so with "tooClose" (height below zero there) astigmatism is below zero,
 * with "tooFar" above. Each draw is turned by the same rule, so that a sign which the stars leave open shows in the
 * intervals.
 */
export function orientFields(fit: FieldFit, ledger: RadialMeans | null = null): OrientedFields {
  const r = fit.problem.halfDiagonalMm;
  if (fit.hasOffsets) {
    const against =
      fit.draws.filter((draw) => !agreeInSign(draw, fit.parameters, r)).length / fit.draws.length;
    const signKnown = against <= doubtAllowed;
    const why = signKnown
      ? "Frames at different known focus offsets tell the sign of the heights."
      : "The focus offsets of the frames are too small beside the blur to tell the sign of the heights.";
    if (signKnown) return { best: fit.parameters, draws: fit.draws, signKnown, why, rule: null };
  }
  const rule: SignRule =
    ledger !== null && ledger !== "unknown"
      ? { radialMeans: ledger, from: "ledger" }
      : { radialMeans: fit.optics.radialMeans, from: "record" };
  if (rule.radialMeans === "unknown") {
    return {
      best: fit.parameters,
      draws: fit.draws,
      signKnown: false,
      rule: null,
      why: "A frame in focus looks the same with all heights negated, and the record does not say what stars drawn out along the radius mean for this train. One more frame with the focus moved by a known amount tells the sign.",
    };
  }
  const wanted = rule.radialMeans === "tooClose" ? -1 : 1;
  const turn = (field: Float64Array): Float64Array =>
    field[TERM.astigmatism] * wanted >= 0 ? field : negateField(field);
  const best = turn(fit.parameters);
  const draws = fit.draws.map(turn);
  const against = draws.filter((draw) => !agreeInSign(draw, best, r)).length / draws.length;
  const signKnown = against <= doubtAllowed;
  return {
    best,
    draws,
    signKnown,
    rule: signKnown ? rule : null,
    why: signKnown
      ? describeRule(rule)
      : "A frame in focus looks the same with all heights negated, and these stars show too little astigmatism to tell the sign by the corrector's rule. One more frame with the focus moved by a known amount tells it.",
  };
}
