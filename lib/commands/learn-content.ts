import { readdir } from "node:fs/promises";
import { join } from "node:path";
import { learnTrains } from "../records/read-content.ts";
import { openContentMemory } from "./content-memory.ts";
import { openPageThreads, type PageThreads } from "./page-threads.ts";

/** What a thread is told to read for the memory of contents. */
export interface LearnJob {
  contentDir: string;
  /** The memory's folder. */
  folder: string;
  now: number;
  /** Digest of the code that reads records. */
  reader: string;
  trains: readonly string[];
}

/** Fewer new trains are read in place: a thread takes about as long to start as fifty trains take to read (chosen: twice that). */
const fewestForThreads = 100;
/** Trains in one job: small enough that no thread is left long alone at the end (chosen). */
const trainsPerJob = 50;

/** Reads some trains' records and digests their measurements, so that the memory knows them. */
export async function learnPart(job: LearnJob): Promise<void> {
  const { contentDir, folder, now, reader, trains } = job;
  const memory = openContentMemory(contentDir, folder, now, { digest: () => reader });
  await learnTrains(contentDir, trains, memory);
  for (const id of trains) {
    const known = memory.find(id);
    if (known !== null) memory.digest(id, known.tests);
  }
}

/**
 * Has threads read what no earlier build has, where that is much: the reading that follows then finds all of it known. What is
 * wrong with a record is not told here. Gives back the threads, which the caller closes; null where none were needed.
 */
export async function learnContent(
  setting: Omit<LearnJob, "trains">,
  threads: number | undefined,
): Promise<PageThreads | null> {
  const list = (dir: string) => readdir(dir).catch(() => []);
  const known = new Set(await list(setting.folder));
  const trains = (await list(join(setting.contentDir, "trains"))).filter((id) => !/^[._]/.test(id));
  const unknown = trains.filter((id) => !known.has(`${id}.json`)).sort();
  if (unknown.length < fewestForThreads) return null;
  const jobs: LearnJob[] = [];
  for (let at = 0; at < unknown.length; at += trainsPerJob)
    jobs.push({ ...setting, trains: unknown.slice(at, at + trainsPerJob) });
  const pool = openPageThreads(threads);
  try {
    await pool.run<LearnJob, void>("learn", jobs);
    return pool;
  } catch (error) {
    await pool.close();
    throw error;
  }
}
