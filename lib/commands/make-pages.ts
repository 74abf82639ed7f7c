import type { SiteRecord } from "../records/types.ts";
import { makeTrains } from "../site/make-trains.ts";
import type { TrainSummary } from "../site/train-summary.ts";
import { openBuildStore } from "./build-store.ts";
import { readWhole } from "./evaluate.ts";

export interface PagesJob {
  storeDir: string;
  site: SiteRecord;
  into: string;
  trains: readonly {
    id: string;
    /** Keys of the train's results and of its comparisons in the build's store. */
    results: string;
    comparisons: readonly string[];
    cropDirs: Readonly<Record<string, string>>;
  }[];
}

/** Folders of several trains, from what the store holds. */
export async function makePages(job: PagesJob): Promise<TrainSummary[]> {
  const store = openBuildStore(job.storeDir);
  const byId = new Map(job.trains.map((train) => [train.id, train]));
  return makeTrains(
    job.trains.map(({ id }) => id),
    async (id) => {
      const train = byId.get(id);
      if (train === undefined) throw new Error(`no job for train ${id}`);
      return { results: readWhole(store, train.results, train.comparisons), cropDirs: train.cropDirs };
    },
    job.site,
    job.into,
  );
}
