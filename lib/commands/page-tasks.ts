import { type ComparisonJob, evaluateComparison, evaluateTrain, type TrainJob } from "./evaluate.ts";
import { makePages, type PagesJob } from "./make-pages.ts";

/** Work that may go to a thread: each takes and gives plain data. */
const tasks = {
  evaluate: (job: unknown) => evaluateTrain(job as TrainJob),
  compare: (job: unknown) => evaluateComparison(job as ComparisonJob),
  pages: (job: unknown) => makePages(job as PagesJob),
};

export type PageTask = keyof typeof tasks;

export async function runPageTask(task: PageTask, job: unknown): Promise<unknown> {
  return tasks[task](job);
}
