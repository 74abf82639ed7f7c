import { type Fault, ReportError } from "../fault.ts";
import type { SiteRecord } from "../records/types.ts";
import type { TrainResults } from "../report/results.ts";
import { cleanTexts } from "./clean-text.ts";
import { nameSite } from "./index-page.ts";
import { writeSingleFiles } from "./publication/write-single-files.ts";
import { renderPages } from "./render-pages.ts";
import type { TrainPage } from "./train-page.ts";
import { makeTrainSummary, type TrainSummary } from "./train-summary.ts";
import { writeTrain } from "./write-train.ts";

export interface SiteTrain {
  results: TrainResults;
  /** Absolute folder of each test, by its id: the one that `spokes.crops[].file` is relative to. */
  cropDirs: Readonly<Record<string, string>>;
  /** Absolute folder of the train's records: photos of its review lie below. Absent: the review can name none. */
  dir?: string | undefined;
}

/** Pages in one run of Eleventy: it keeps every page of a run in memory (chosen: eight pages of 0.5 to 2 MB, held twice, against what a run costs by itself, 20 ms). */
export const trainsPerRun = 8;

/**
 * Writes the folders of trains, pages included, below `into`/trains. `load` gives one train after the other, so that no
 * more than a run's are in memory. `quick`: the report as one file only says that a full build makes it.
 *
 * @throws ReportError with the faults of every review
 */
export async function makeTrains(
  ids: readonly string[],
  load: (id: string) => Promise<SiteTrain>,
  site: SiteRecord,
  into: string,
  quick = false,
): Promise<TrainSummary[]> {
  const summaries: TrainSummary[] = [];
  const faults: Fault[] = [];
  for (let at = 0; at < ids.length; at += trainsPerRun) {
    const pages = new Map<string, TrainPage>();
    for (const id of ids.slice(at, at + trainsPerRun)) {
      const loaded = await load(id);
      const train = { ...loaded, results: cleanTexts(loaded.results) };
      const page = await writeTrain(train, site, into);
      pages.set(id, page);
      faults.push(...page.proseFaults);
      summaries.push(makeTrainSummary(train.results));
    }
    // What is wrong with the prose is told for all trains together; no page is set from it.
    if (faults.length > 0) continue;
    await renderPages({ siteTitle: nameSite(site), index: null, trains: pages, linksStyle: quick }, into);
    const written = [...pages.keys()].map((id) => ({ kind: "trains" as const, id }));
    await writeSingleFiles(written, site, into, { quick });
  }
  if (faults.length > 0) throw new ReportError(faults);
  return summaries;
}
