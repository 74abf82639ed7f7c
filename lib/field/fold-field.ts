import type { Quantity } from "../maths/quantity.ts";
import { stateNumber } from "./field-intervals.ts";
import { TERM } from "./field-model.ts";
import { type FieldFit, negateField } from "./fit-field.ts";

/**
 * The focal surface of a fit up to one common sign: all of it, and every draw, turned to the side of the best field.
 * `signKnown` where frames at known focus offsets have told the sign. For comparing nights with each other, where the
 * spacings tell the signs (see the ledger); a single night's results stay silent on signs.
 */
export interface FoldedField {
  curvature: Quantity;
  astigmatism: Quantity;
  tiltX: Quantity;
  tiltY: Quantity;
  signKnown: boolean;
}

export function foldField(fit: FieldFit, signKnown: boolean): FoldedField {
  const best = fit.parameters;
  const draws = signKnown
    ? fit.draws
    : fit.draws.map((draw) => {
        const product =
          draw[TERM.curvature] * best[TERM.curvature] + draw[TERM.astigmatism] * best[TERM.astigmatism];
        return product < 0 ? negateField(draw) : draw;
      });
  const state = (term: number, unit: Quantity["unit"]) =>
    stateNumber(best, draws, (field) => field[term], unit, fit.stars);
  return {
    curvature: state(TERM.curvature, "um/mm2"),
    astigmatism: state(TERM.astigmatism, "um/mm2"),
    tiltX: state(TERM.tiltX, "um/mm"),
    tiltY: state(TERM.tiltY, "um/mm"),
    signKnown,
  };
}
