import type { TrainResults } from "../report/results.ts";
import { describeTrain } from "./describe-train.ts";
import { isDraft } from "./draft.ts";
import { type IndexRow, makeIndexRow } from "./index-page.ts";
import { sortNewestFirst } from "./key-numbers.ts";
import { makeSearchText, type SearchText } from "./publication/search-text.ts";
import { spellUnits } from "./spell-units.ts";

/** What the site's own pages and lists say of a train; plain data, kept so that an unchanged train need not be read. */
export interface TrainSummary {
  id: string;
  name: string;
  row: IndexRow;
  /** No list, feed or map names it. */
  isDraft: boolean;
  description: string;
  /** Date of the last test; null where there is none. */
  lastTest: string | null;
  /** Sentences, most important first. */
  findings: string[];
  search: SearchText;
}

export function makeTrainSummary(results: TrainResults): TrainSummary {
  return {
    id: results.id,
    name: results.name,
    row: makeIndexRow(results),
    isDraft: isDraft(results),
    description: describeTrain(results),
    lastTest: sortNewestFirst(results.tests)[0]?.date ?? null,
    findings: results.findings.map(({ sentence }) => spellUnits(sentence)),
    search: makeSearchText(results),
  };
}
