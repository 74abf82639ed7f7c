import type { Comparison } from "../report/results.ts";
import type { ComparisonRequest } from "./comparison-side.ts";
import type { MatchedMeasurement } from "./matched-measurement.ts";

/** Widths at matched sampling, or why there are none. */
export function compareMatched(
  _request: ComparisonRequest,
  _stored: MatchedMeasurement | null,
): Pick<Comparison, "matched" | "matchedWhy"> {
  return {
    matched: null,
    matchedWhy:
      "The finer frames have not been resampled: this needs the frames of the finer side at hand when measuring.",
  };
}
