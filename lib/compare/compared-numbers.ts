import type { SourceText } from "../records/types.ts";
import type { ComparisonRequest, ComparisonSide } from "./comparison-side.ts";

const takeSource = (source: SourceText) => ({ ...source, text: "", sha256: "" });

function takeSide({ train, test, results, trainResults, ...side }: ComparisonSide): ComparisonSide {
  const own = { record: { ...train.record, name: "" }, source: takeSource(train.source) };
  return {
    ...side,
    train: { ...train, ...own, dir: "", partSources: [], review: null, tests: [] },
    test:
      test === null
        ? null
        : { ...test, dir: "", source: takeSource(test.source), record: { ...test.record, notes: "" } },
    results:
      results === null
        ? null
        : { ...results, warnings: [], record: { ...results.record, notesMarkdown: "" } },
    trainResults:
      trainResults === null ? null : { sampling: trainResults.sampling, ledger: trainResults.ledger },
  };
}

/**
 * What a comparison is asked for without names, notes and places of files: no number follows from them, so that another
 * name or note asks for no number anew.
 */
export function takeComparedNumbers(request: ComparisonRequest): ComparisonRequest {
  const { a, b, states } = request;
  return {
    ...request,
    name: "",
    a: takeSide(a),
    b: takeSide(b),
    ...(states === undefined ? {} : { states: states.map(takeSide) }),
  };
}
