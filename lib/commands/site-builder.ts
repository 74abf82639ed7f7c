import { type Fault, ReportError } from "../fault.ts";
import type { Content } from "../records/types.ts";
import type { Comparison } from "../report/results.ts";
import { checkSite, type KeptFolders } from "../site/check-site.ts";
import type { TrainSummary } from "../site/train-summary.ts";
import type { TrainKeys } from "./build-keys.ts";
import { openBuildStore } from "./build-store.ts";
import type { BuildSetting, ComparisonJob, TrainJob } from "./evaluate.ts";
import type { MadePages, PagesJob } from "./make-pages.ts";
import type { CheckJob } from "./page-tasks.ts";
import { openPageThreads, type PageThreads } from "./page-threads.ts";

/**
 * Pages of fewer trains than this are made in place: a thread takes about as long to start as they take. Where two trains or
 * more are to be analysed anew, threads pay: fitting the field takes a second or more for each test.
 */
export const fewestForThreads = 8;
/** Trains in one job of a thread (chosen: three runs of Eleventy; more would leave the last thread long alone). */
const trainsPerJob = 24;

/** One build's work on trains and comparisons, on as many threads as pay. */
export class SiteBuilder {
  private readonly content: Content;
  private readonly keys: ReadonlyMap<string, TrainKeys>;
  private readonly setting: BuildSetting;
  private readonly how: {
    threads: number | undefined;
    pool: PageThreads | null;
    quick: boolean;
    /** Whether this folder's fields were fitted by this very code before, so that few are to be fitted anew. */
    fitsKnown: boolean;
    onStep: (line: string) => void;
  };
  private here: PageThreads | null = null;
  private pool: PageThreads | null = null;

  constructor(
    content: Content,
    keys: ReadonlyMap<string, TrainKeys>,
    setting: BuildSetting,
    how: SiteBuilder["how"],
  ) {
    this.content = content;
    this.keys = keys;
    this.setting = setting;
    this.how = how;
    this.pool = how.pool;
  }

  private openThreads(jobs: number): PageThreads {
    if (jobs < fewestForThreads && this.pool === null) {
      this.here ??= openPageThreads(1);
      return this.here;
    }
    this.pool ??= openPageThreads(this.how.threads);
    return this.pool;
  }

  /** Steps 4 and 5 for these trains. */
  private async evaluate(ids: readonly string[]): Promise<void> {
    const chosen = new Set(ids);
    const jobs: TrainJob[] = this.content.trains
      .filter(({ id }) => chosen.has(id))
      .map((train) => ({ setting: this.setting, train, keys: this.getKeys(train.id) }));
    const store = openBuildStore(this.setting.storeDir);
    const missing = jobs.filter(({ keys }) => !store.has("tests", keys.analysis));
    const single =
      missing.length < fewestForThreads && !this.how.fitsKnown ? missing.flatMap(splitTests) : [];
    const pays = missing.length > 1 || single.length > 1;
    const threads = this.openThreads(pays ? Math.max(jobs.length, fewestForThreads) : jobs.length);
    // A train of six tests would keep one thread at work long after the others.
    if (single.length > missing.length && threads.count > 1) await threads.run<TrainJob, void>("fit", single);
    throwFaults(await threads.run<TrainJob, Fault[]>("evaluate", jobs));
  }

  private getKeys(id: string): TrainKeys {
    const keys = this.keys.get(id);
    if (keys === undefined) throw new Error(`no keys for train ${id}`);
    return keys;
  }

  /** Step 6: the comparisons on record, those that the store has taken from there. */
  async compare(
    listed: readonly { id: string; trains: readonly string[]; key: string }[],
  ): Promise<Comparison[]> {
    const store = openBuildStore(this.setting.storeDir);
    const { rehearses = false } = this.setting;
    const missing = listed.filter(({ key }) => rehearses || !store.has("comparisons", key));
    if (missing.length > 0) {
      await this.evaluate(missing.flatMap(({ trains }) => trains));
      const jobs = missing.flatMap(({ id, trains, key }): ComparisonJob[] => {
        const entry = this.content.comparisons.find((other) => other.id === id);
        const sides = this.content.trains
          .filter((train) => trains.includes(train.id))
          .map((train) => {
            const { results, measured } = this.getKeys(train.id);
            return { train, results, measured };
          });
        return entry === undefined ? [] : [{ setting: this.setting, entry, trains: sides, key }];
      });
      throwFaults(await this.openThreads(jobs.length).run<ComparisonJob, Fault[]>("compare", jobs));
    }
    return listed.flatMap(({ key }) => store.find<Comparison>("comparisons", key) ?? []);
  }

  /** Each train by itself, so that an edit can come between two. */
  async rehearse(isWanted: () => boolean): Promise<void> {
    for (const { id } of this.content.trains) {
      await this.evaluate([id]);
      await goOn(isWanted);
    }
  }

  async makeTrains(ids: readonly string[], into: string): Promise<TrainSummary[]> {
    await this.evaluate(ids);
    const { storeDir, codes } = this.setting;
    const jobs: PagesJob[] = [];
    const threads = this.openThreads(ids.length);
    const share = Math.max(1, Math.min(trainsPerJob, Math.ceil(ids.length / threads.count)));
    const trains = new Map(this.content.trains.map((train) => [train.id, train]));
    for (let at = 0; at < ids.length; at += share) {
      const part = ids.slice(at, at + share).map((id) => ({
        id,
        results: this.getKeys(id).results,
        comparisons: this.getKeys(id).comparisons,
        cropDirs: Object.fromEntries((trains.get(id)?.tests ?? []).map((test) => [test.id, test.dir])),
        dir: trains.get(id)?.dir ?? "",
      }));
      jobs.push({ storeDir, codes, site: this.content.site, into, quick: this.how.quick, trains: part });
    }
    const made = await threads.run<PagesJob, MadePages>("pages", jobs, (done) =>
      this.how.onStep(`pages written: ${Math.min(done * share, ids.length)} of ${ids.length}`),
    );
    throwFaults(made.map(({ faults }) => faults));
    return made.flatMap(({ summaries }) => summaries);
  }

  /** Links and ids of written pages; on the threads where those stand already. */
  async checkPages(root: string, folders: readonly string[], kept: KeptFolders): Promise<Fault[]> {
    if (this.pool === null) return checkSite(root, folders, kept);
    const share = Math.ceil(folders.length / this.pool.count);
    const jobs = Array.from({ length: this.pool.count }, (_, k): CheckJob => {
      return { root, folders: folders.slice(k * share, (k + 1) * share), kept };
    });
    return (await this.pool.run<CheckJob, Fault[]>("check", jobs)).flat();
  }

  async close(): Promise<void> {
    if (this.pool !== this.how.pool) await this.pool?.close();
  }
}

function throwFaults(listed: readonly (readonly Fault[])[]): void {
  const faults = listed.flat();
  if (faults.length > 0) throw new ReportError(faults);
}

/** The same train once for each of its tests. */
function splitTests(job: TrainJob): TrainJob[] {
  return job.train.tests.map((test) => ({ ...job, train: { ...job.train, tests: [test] } }));
}

/** Lets an edit be heard of, and stops where one came. */
export async function goOn(isWanted: () => boolean): Promise<void> {
  await new Promise((done) => setImmediate(done));
  if (!isWanted()) throw new Error("the rehearsal was called off");
}
