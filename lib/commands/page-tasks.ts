import { checkSite, type KeptFolders } from "../site/check-site.ts";
import {
  type ComparisonJob,
  evaluateComparison,
  evaluateTrain,
  fitTrain,
  type TrainJob,
} from "./evaluate.ts";
import { type LearnJob, learnPart } from "./learn-content.ts";
import { makePages, type PagesJob } from "./make-pages.ts";

export interface CheckJob {
  root: string;
  folders: readonly string[];
  kept: KeptFolders;
}

/** Work that may go to a thread: each takes and gives plain data. */
const tasks = {
  learn: (job: unknown) => learnPart(job as LearnJob),
  fit: (job: unknown) => fitTrain(job as TrainJob),
  evaluate: (job: unknown) => evaluateTrain(job as TrainJob),
  compare: (job: unknown) => evaluateComparison(job as ComparisonJob),
  pages: (job: unknown) => makePages(job as PagesJob),
  check: async (job: unknown) => {
    const { root, folders, kept } = job as CheckJob;
    return checkSite(root, folders, kept);
  },
};

export type PageTask = keyof typeof tasks;

export async function runPageTask(task: PageTask, job: unknown): Promise<unknown> {
  return tasks[task](job);
}
