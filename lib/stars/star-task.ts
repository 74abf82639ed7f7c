/**
 * A piece of the measuring that may run on a worker thread: a pure function with a name by which the worker finds it
 * (see tasks.ts). Jobs and results are plain data and typed arrays; samples travel as shared memory.
 */
export interface StarTask<Job, Result> {
  name: string;
  run: (job: Job) => Result;
}

/** Runs one task on many jobs, results in the order of the jobs. Which threads do it is the caller's affair. */
export type StarTaskRunner = <Job, Result>(
  task: StarTask<Job, Result>,
  jobs: readonly Job[],
) => Promise<Result[]>;

/** Runs every job here and now, one after the other: for tests, and where there is but one core. */
export const runInline: StarTaskRunner = async (task, jobs) => jobs.map((job) => task.run(job));
