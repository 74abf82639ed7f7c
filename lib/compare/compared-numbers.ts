import type { SourceText } from "../records/types.ts";
import type { TestResults } from "../report/results.ts";
import type { ComparisonRequest, ComparisonSide } from "./comparison-side.ts";

const takeSource = (source: SourceText) => ({ ...source, text: "", sha256: "" });

/** What no comparison reads of a test: words, causes and moves, and the stars one by one, which it has as measured. */
const unread = {
  frames: [],
  diagnosis: null,
  moves: null,
  rings: null,
  lightCause: null,
  channelZones: {},
  starField: null,
  radialProfile: null,
  folded: null,
  contrasts: null,
  warnings: [],
} satisfies Partial<TestResults>;

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
      results === null ? null : { ...results, ...unread, record: { ...results.record, notesMarkdown: "" } },
    trainResults:
      trainResults === null ? null : { sampling: trainResults.sampling, ledger: trainResults.ledger },
  };
}

/**
 * What a comparison is asked for without names, notes, places of files and what else it does not read: another name, or
 * another sentence in the diagnosis, then asks for no number anew.
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
