import { makeExact, makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import type { Comparison } from "../report/results.ts";
import { computeNominalFocalLength } from "../train/focal-length.ts";
import type { ComparisonRequest, ComparisonSide } from "./comparison-side.ts";

/** Focal length of b over that of a as the two records have them. */
export function computeNominalRatio({ a, b }: { a: ComparisonSide; b: ComparisonSide }): Quantity {
  const [first, second] = [a, b].map(({ train }) => computeNominalFocalLength(train.record).value);
  if (first === null || second === null || !(first > 0)) {
    return makeUnknown("ratio", "The records do not give both focal lengths.");
  }
  return makeExact(second / first, "ratio", {
    formula: "f_b / f_a",
    working: `${Number(second.toPrecision(7))} mm / ${Number(first.toPrecision(7))} mm`,
    source: "the records of both trains",
    assumes: "The makers' focal lengths and the corrector's factor hold.",
  });
}

/** Ratio and rotation between the two sides, from their common stars where there are any, else from the records. */
export function compareScales(
  request: ComparisonRequest,
): Pick<Comparison, "ratio" | "nominalRatio" | "rotation"> {
  const nominalRatio = computeNominalRatio(request);
  const why = "The two tests' stars have not been matched.";
  const ratio =
    nominalRatio.value === null
      ? nominalRatio
      : makeMeasured(nominalRatio.value, "ratio", nominalRatio.lo, nominalRatio.hi, 1, {
          source: "the records of both trains, not measured",
          assumes: "The makers' focal lengths and the corrector's factor hold; no common stars were matched.",
        });
  return { ratio, nominalRatio, rotation: makeUnknown("deg", why) };
}
