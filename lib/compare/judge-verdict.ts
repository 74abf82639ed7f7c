import type { Comparison } from "../report/results.ts";
import type { ComparisonRequest } from "./comparison-side.ts";

/** What the compared widths allow to say, unit by unit and in one sentence. */
export function judgeVerdict(
  _request: ComparisonRequest,
  _compared: Pick<Comparison, "zones" | "matched" | "matchedWhy">,
): Comparison["verdict"] {
  const open = {
    class: "cannotTell",
    sentence: "Which side is sharper has not been judged from these tests.",
  } as const;
  return {
    px: open,
    um: open,
    arcsec: open,
    matched: open,
    overall: "Which side is sharper has not been judged from these tests.",
  };
}
