import { makeExact, makeMeasured, type Quantity } from "../maths/quantity.ts";
import type { ReducerResults, ScaleResults } from "../report/scale-results.ts";
import { describeReducer, type ReducerState, readSpacingMm } from "./compare-reducer.ts";
import type { ComparisonRequest, ComparisonSide } from "./comparison-side.ts";
import { hasFactor } from "./focal-lengths.ts";
import { isMeasured, measureScale } from "./measure-scale.ts";
import { divideQuantities, multiplyQuantities } from "./quantity-sums.ts";

function isSameTelescope(a: ComparisonSide, b: ComparisonSide): boolean {
  const [one, other] = [a.train.record.telescope, b.train.record.telescope];
  return one.name === other.name && one.focalLengthMm === other.focalLengthMm;
}

function isSameCorrector(a: ComparisonSide, b: ComparisonSide): boolean {
  const [one, other] = [a.train.record.corrector, b.train.record.corrector];
  return one !== null && other !== null && one.name === other.name && one.factor === other.factor;
}

function makeState(side: ComparisonSide, factor: Quantity): ReducerState[] {
  const spacingMm = readSpacingMm(side);
  return spacingMm === null ? [] : [{ test: side.test?.id ?? "", spacingMm, factor }];
}

/** Ratio of a further state of the stack over the side it is held against, from one pair of frames. */
function measureState(state: ComparisonSide, against: ComparisonSide): Quantity | null {
  if (state.geometry === null || against.geometry === null) return null;
  const found = measureScale(
    { tables: against.tables.slice(0, 1), geometry: against.geometry },
    { tables: state.tables.slice(0, 1), geometry: state.geometry },
    against.results?.scale.focalLengthMm ?? against.train.record.telescope.focalLengthMm,
    1,
  );
  if (!isMeasured(found)) return null;
  const { value, reach } = found.ratio;
  return makeMeasured(value, "ratio", value - reach, value + reach, found.stars);
}

/**
 * What a reducer or extender on one side does, measured against the other: against the telescope without it, its factor;
 * against another spacing of itself, how the factor changes (the maker's factor then stands for side a's). `states` of
 * the request are further spacings of that side's train. Null without such a corrector, between different telescopes, or
 * where nothing was measured.
 */
export function measureReducer(
  request: ComparisonRequest,
  ratio: Quantity,
  from: ScaleResults["from"],
): ReducerResults | null {
  const { a, b } = request;
  if (from === "records" || ratio.value === null || !isSameTelescope(a, b)) return null;
  const others = request.states ?? [];
  if (isSameCorrector(a, b) && hasFactor(a)) {
    const nominal = makeExact(a.train.record.corrector?.factor ?? Number.NaN, "ratio", {
      assumes: "The maker's factor holds for side a.",
    });
    const further = others.flatMap((state) => {
      const found = measureState(state, a);
      return found === null ? [] : makeState(state, multiplyQuantities(nominal, found, "ratio"));
    });
    const own = makeState(b, multiplyQuantities(nominal, ratio, "ratio"));
    return describeReducer("b", b, [...own, ...makeState(a, nominal), ...further]);
  }
  if (hasFactor(a) === hasFactor(b)) return null;
  const [side, reduced, plain] = hasFactor(b) ? (["b", b, a] as const) : (["a", a, b] as const);
  const factor = side === "b" ? ratio : divideQuantities(makeExact(1, "ratio"), ratio, "ratio");
  const further = others.flatMap((state) => {
    const found = measureState(state, plain);
    return found === null ? [] : makeState(state, found);
  });
  return describeReducer(side, reduced, [...makeState(reduced, factor), ...further]);
}
