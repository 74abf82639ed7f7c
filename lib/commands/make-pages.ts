import { type Fault, ReportError } from "../fault.ts";
import { useMemory } from "../maths/remember.ts";
import type { SiteRecord } from "../records/types.ts";
import { makeTrains } from "../site/make-trains.ts";
import type { TrainSummary } from "../site/train-summary.ts";
import { openBuildStore } from "./build-store.ts";
import { type ModuleCodes, openComputedStore } from "./computed-store.ts";
import { readWhole } from "./evaluate.ts";

export interface PagesJob {
  storeDir: string;
  /** Digests of the code whose computations are remembered, by module. */
  codes: ModuleCodes;
  site: SiteRecord;
  into: string;
  quick: boolean;
  trains: readonly {
    id: string;
    /** Keys of the train's results and of its comparisons in the build's store. */
    results: string;
    comparisons: readonly string[];
    cropDirs: Readonly<Record<string, string>>;
    /** Folder of the train's records. */
    dir: string;
  }[];
}

/** Faults in place of an error: they go through threads, and those of all trains are told together. */
export interface MadePages {
  summaries: TrainSummary[];
  faults: readonly Fault[];
}

/** Folders of several trains, from what the store holds. */
export async function makePages(job: PagesJob): Promise<MadePages> {
  const store = openBuildStore(job.storeDir);
  useMemory(openComputedStore(`${job.storeDir}/fits`, job.codes));
  const byId = new Map(job.trains.map((train) => [train.id, train]));
  try {
    const summaries = await makeTrains(
      job.trains.map(({ id }) => id),
      async (id) => {
        const train = byId.get(id);
        if (train === undefined) throw new Error(`no job for train ${id}`);
        const { results, comparisons, cropDirs, dir } = train;
        return { results: readWhole(store, results, comparisons), cropDirs, dir };
      },
      job.site,
      job.into,
      job.quick,
    );
    return { summaries, faults: [] };
  } catch (error) {
    if (error instanceof ReportError) return { summaries: [], faults: error.faults };
    throw error;
  } finally {
    useMemory(null);
  }
}
