import { availableParallelism } from "node:os";
import { Worker } from "node:worker_threads";
import type { PageTask } from "./page-tasks.ts";

/** What a thread is asked, and what it answers. */
export interface PageRequest {
  id: number;
  task: PageTask;
  job: unknown;
}
export type PageAnswer = { id: number; result: unknown } | { id: number; error: unknown };

export interface PageThreads {
  /** Results in the order of the jobs, whatever thread did which. `onDone` hears of each as it is finished. */
  run: <Job, Result>(
    task: PageTask,
    jobs: readonly Job[],
    onDone?: (done: number) => void,
  ) => Promise<Result[]>;
  /** Jobs that a call should be cut into at least. */
  count: number;
  close: () => Promise<void>;
}

interface Waiting {
  request: PageRequest;
  resolve: (result: unknown) => void;
  reject: (error: unknown) => void;
}

/** Memory of a thread (chosen: ten times what a train of six tests takes). */
const mostMegabytes = 1024;

/** One after the other on this thread. */
function runHere(): PageThreads {
  return {
    count: 1,
    async run<Job, Result>(task: PageTask, jobs: readonly Job[], onDone?: (done: number) => void) {
      const { runPageTask } = await import("./page-tasks.ts");
      const results: Result[] = [];
      for (const job of jobs) {
        results.push((await runPageTask(task, job)) as Result);
        onDone?.(results.length);
      }
      return results;
    },
    close: async () => {},
  };
}

/**
 * Threads that evaluate trains and make their pages. They start with the first job. With one thread, all runs in place:
 * starting one takes about as long as a few trains.
 */
export function openPageThreads(threads = availableParallelism()): PageThreads {
  if (threads <= 1) return runHere();
  const waiting: Waiting[] = [];
  const workers: { worker: Worker; job: Waiting | null }[] = [];
  let nextId = 0;
  let broken: unknown = null;

  function giveWork(thread: (typeof workers)[number]): void {
    if (thread.job !== null) return;
    const job = waiting.shift();
    if (job === undefined) return;
    thread.job = job;
    thread.worker.postMessage(job.request);
  }

  function failAll(error: unknown): void {
    broken = error;
    for (const { job } of workers) job?.reject(error);
    for (const job of waiting.splice(0)) job.reject(error);
  }

  function startThread(): void {
    const worker = new Worker(new URL("./boot-thread.mjs", import.meta.url), {
      execArgv: [],
      // Without a bound a thread lets rubbish pile up to a quarter of the machine's memory before it tidies.
      resourceLimits: { maxOldGenerationSizeMb: mostMegabytes, maxYoungGenerationSizeMb: 32 },
      workerData: { entry: "page-worker" },
    });
    const thread = { worker, job: null as Waiting | null };
    worker.on("message", (answer: PageAnswer) => {
      const { job } = thread;
      thread.job = null;
      if ("error" in answer) job?.reject(answer.error);
      else job?.resolve(answer.result);
      giveWork(thread);
    });
    worker.on("error", failAll);
    workers.push(thread);
  }

  return {
    count: threads,
    async run<Job, Result>(task: PageTask, jobs: readonly Job[], onDone?: (done: number) => void) {
      if (broken !== null) throw broken;
      while (workers.length < Math.min(threads, jobs.length)) startThread();
      let done = 0;
      const results = jobs.map(
        (job) =>
          new Promise<unknown>((resolve, reject) => {
            waiting.push({ request: { id: nextId++, task, job }, resolve, reject });
          }),
      );
      for (const result of results) result.then(() => onDone?.(++done)).catch(() => undefined);
      for (const thread of workers) giveWork(thread);
      return (await Promise.all(results)) as Result[];
    },
    async close() {
      await Promise.all(workers.splice(0).map(({ worker }) => worker.terminate()));
    },
  };
}
