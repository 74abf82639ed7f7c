import { fitLeastSquares } from "../maths/least-squares.ts";
import { makeExact, makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import type { ReducerResults } from "../report/scale-results.ts";
import { computeReducerFocalLength, computeReducerState } from "../train/reducer-spacing.ts";
import type { ComparisonSide } from "./comparison-side.ts";
import { writeSmall } from "./write-small.ts";

/** The factor of the corrector in one state of the stack. */
export interface ReducerState {
  test: string;
  /** From the corrector's shoulder to the sensor, glass counted off, mm. */
  spacingMm: number;
  factor: Quantity;
}

const thinLens = "thin lens in a converging beam: m = 1 - d / f_R (Smith, Modern Optical Engineering, ch. 2)";

/** Optical distance from the corrector's shoulder to the sensor in a test, mm; null without corrector or test. */
export function readSpacingMm(side: ComparisonSide): number | null {
  const { corrector } = side.train.record;
  const error = side.results?.spacingError ?? null;
  if (corrector === null || error === null || error.value === null) return null;
  return corrector.backFocusMm + error.value;
}

interface FactorLine {
  slope: number;
  slopeReach: number;
  factorAtMiddle: number;
  middleMm: number;
  states: number;
}

/** Spacings nearer than this are the same stack: rings screw home to some hundredths of a mm. */
const leastDifferenceMm = 0.05;

/** Weighted straight line of the factor against the spacing; null where the states have one spacing only. */
function fitFactorLine(states: readonly ReducerState[]): FactorLine | null {
  const known = states.flatMap(({ spacingMm, factor }) =>
    factor.value === null
      ? []
      : [{ spacingMm, value: factor.value, sigma: Math.max((factor.hi - factor.lo) / 3.92, 1e-9) }],
  );
  const spacings = known.map(({ spacingMm }) => spacingMm);
  if (known.length < 2 || Math.max(...spacings) - Math.min(...spacings) < leastDifferenceMm) return null;
  const weights = known.map(({ sigma }) => 1 / sigma ** 2);
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const middleMm = known.reduce((sum, { spacingMm }, k) => sum + (weights[k] * spacingMm) / total, 0);
  const fit = fitLeastSquares(
    known.flatMap(({ spacingMm }) => [1, spacingMm - middleMm]),
    known.map(({ value }) => value),
    2,
    { weights, errorsFrom: "weights" },
  );
  if (fit === null) return null;
  // Nights that scatter more than their intervals say widen the slope; those that scatter less do not narrow it.
  const excess = fit.degreesOfFreedom < 1 ? 1 : Math.max(1, fit.residualSigma);
  return {
    slope: fit.coefficients[1],
    slopeReach: 1.96 * fit.standardErrors[1] * excess,
    factorAtMiddle: fit.coefficients[0],
    middleMm,
    states: known.length,
  };
}

function stateFromLine(
  line: FactorLine,
): Pick<ReducerResults, "focalLength" | "principalPlane" | "perTenthMm"> {
  const { slope, slopeReach, factorAtMiddle, middleMm, states } = line;
  const percent = (value: number) => (10 * value) / factorAtMiddle;
  const perTenthMm = makeMeasured(
    percent(slope),
    "percent",
    percent(slope - slopeReach),
    percent(slope + slopeReach),
    states,
    {
      formula: "100 * (0.1 mm) * s / m",
      source: "straight line through the factors measured at each spacing",
    },
  );
  if (!(Math.abs(slope) > slopeReach)) {
    const why = "The factors measured at these spacings do not differ by more than their intervals.";
    return { focalLength: makeUnknown("mm", why), principalPlane: makeUnknown("mm", why), perTenthMm };
  }
  const lengthAt = (value: number) => -1 / value;
  const planeAt = (value: number) => middleMm - lengthAt(value) * (1 - factorAtMiddle);
  const ends = [slope - slopeReach, slope + slopeReach];
  const measure = (compute: (value: number) => number, formula: string) =>
    makeMeasured(
      compute(slope),
      "mm",
      Math.min(...ends.map(compute)),
      Math.max(...ends.map(compute)),
      states,
      { formula, source: thinLens },
    );
  return {
    focalLength: measure(lengthAt, "-1 / s"),
    principalPlane: measure(planeAt, "d + (1 - m) / s"),
    perTenthMm,
  };
}

function stateFromRecord(
  side: ComparisonSide,
  factor: Quantity,
): Pick<ReducerResults, "focalLength" | "principalPlane" | "perTenthMm"> {
  const why = "It needs the factor measured at two spacings or more; this comparison has one.";
  const { corrector } = side.train.record;
  const value = factor.value ?? corrector?.factor ?? Number.NaN;
  const distance = corrector?.backFocusMm ?? Number.NaN;
  const { percentPerMm } = computeReducerState(distance, computeReducerFocalLength(distance, value));
  const perTenthMm = Number.isFinite(percentPerMm)
    ? makeExact(percentPerMm / 10, "percent", {
        formula: "-100 * (0.1 mm) * (1 - m) / (d * m)",
        source: thinLens,
        assumes: "The corrector acts as one thin lens at its rear shoulder; not measured.",
      })
    : makeUnknown("percent", "The record's back focus and the factor give no thin lens.");
  return { focalLength: makeUnknown("mm", why), principalPlane: makeUnknown("mm", why), perTenthMm };
}

/**
 * The corrector of one side as a thin lens, from the factor at each spacing that was measured. `states` hold the compared
 * test itself first.
 */
export function describeReducer(
  side: "a" | "b",
  compared: ComparisonSide,
  states: readonly ReducerState[],
): ReducerResults | null {
  const { corrector } = compared.train.record;
  if (corrector === null || states.length === 0) return null;
  const [{ factor }] = states;
  const line = fitFactorLine(states);
  const parts = line === null ? stateFromRecord(compared, factor) : stateFromLine(line);
  return {
    side,
    factor,
    nominalFactor: makeExact(corrector.factor, "ratio", { source: "the corrector's record" }),
    states: [...states].sort((left, right) => left.spacingMm - right.spacingMm),
    ...parts,
    sentence: sayReducer(parts, line),
  };
}

function sayReducer(
  { perTenthMm, focalLength }: Pick<ReducerResults, "focalLength" | "perTenthMm">,
  line: FactorLine | null,
): string {
  if (perTenthMm.value === null) return "What the spacing does to the focal length cannot be told.";
  const size = writeSmall(perTenthMm.value);
  const way = perTenthMm.value < 0 ? "shortens" : "lengthens";
  if (line === null) {
    return `As a thin lens, 0.1 mm more spacing ${way} the focal length by ${size} %; the factor at a second spacing would measure it.`;
  }
  if (focalLength.value === null) {
    const most = writeSmall(Math.max(Math.abs(perTenthMm.lo), Math.abs(perTenthMm.hi)));
    return `Over the ${line.states} spacings measured the focal length stays the same: 0.1 mm changes it by at most ${most} %.`;
  }
  return `0.1 mm more spacing ${way} the focal length by ${size} %, measured over ${line.states} spacings.`;
}
