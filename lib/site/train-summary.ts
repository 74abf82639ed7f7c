import type { TrainResults } from "../report/results.ts";
import { isDraft } from "./draft.ts";
import { type IndexRow, makeIndexRow } from "./index-page.ts";

/** What the site's own pages and lists say of a train; plain data, kept so that an unchanged train need not be read. */
export interface TrainSummary {
  id: string;
  name: string;
  row: IndexRow;
  /** No list, feed or map names it. */
  isDraft: boolean;
}

export function makeTrainSummary(results: TrainResults): TrainSummary {
  return { id: results.id, name: results.name, row: makeIndexRow(results), isDraft: isDraft(results) };
}
