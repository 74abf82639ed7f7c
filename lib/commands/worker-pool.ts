import { availableParallelism } from "node:os";
import { Worker } from "node:worker_threads";
import { runInline, type StarTaskRunner } from "../stars/star-task.ts";
import { bundleWorker } from "./bundle-code.ts";
import type { WorkerAnswer, WorkerRequest } from "./star-worker.ts";

export interface WorkerPool {
  run: StarTaskRunner;
  /** Ends the threads; jobs that wait are refused. */
  close: () => Promise<void>;
}

interface PendingJob {
  request: WorkerRequest;
  resolve: (result: unknown) => void;
  reject: (error: unknown) => void;
}

interface PoolThread {
  worker: Worker;
  job: PendingJob | null;
}

/**
 * Threads that run the star tasks. They start with the first job; a job goes to the next thread that is free, results
 * come back in the order of the jobs. Samples lie on shared memory and are not copied. With one thread everything runs
 * in place. A job that throws fails its whole call; a thread that dies fails the job it had.
 *
 * @param threads - left out: one for each core
 */
export function makeWorkerPool(threads = availableParallelism()): WorkerPool {
  if (threads <= 1) return { run: runInline, close: async () => {} };
  let starting: Promise<PoolThread[]> | null = null;
  let closed = false;
  let nextId = 0;
  const waiting: PendingJob[] = [];

  function fail(thread: PoolThread, error: unknown): void {
    thread.job?.reject(error);
    thread.job = null;
    if (!closed) for (const job of waiting.splice(0)) job.reject(error);
  }

  function giveWork(thread: PoolThread): void {
    if (thread.job !== null) return;
    const job = waiting.shift();
    if (job === undefined) {
      thread.worker.unref();
      return;
    }
    thread.job = job;
    thread.worker.ref();
    try {
      thread.worker.postMessage(job.request);
    } catch (error) {
      thread.job = null;
      job.reject(error);
    }
  }

  function takeAnswer(thread: PoolThread, answer: WorkerAnswer): void {
    const job = thread.job;
    thread.job = null;
    if ("error" in answer) job?.reject(answer.error);
    else job?.resolve(answer.result);
    giveWork(thread);
  }

  async function startThreads(): Promise<PoolThread[]> {
    const code = await bundleWorker();
    return Array.from({ length: threads }, () => {
      const worker = new Worker(code, { eval: true, execArgv: [] });
      const thread: PoolThread = { worker, job: null };
      worker.on("message", (answer: WorkerAnswer) => takeAnswer(thread, answer));
      worker.on("error", (error) => fail(thread, error));
      worker.on("exit", () => fail(thread, new Error("a measuring thread ended before its work was done")));
      worker.unref();
      return thread;
    });
  }

  const run: StarTaskRunner = async <Job, Result>(
    task: { name: string; run: (job: Job) => Result },
    jobs: readonly Job[],
  ) => {
    if (jobs.length === 1) return [task.run(jobs[0])];
    if (closed) throw new Error("the measuring threads have been ended");
    starting ??= startThreads();
    const pool = await starting;
    const results = jobs.map(
      (job) =>
        new Promise<unknown>((resolve, reject) => {
          waiting.push({ request: { id: nextId++, task: task.name, job }, resolve, reject });
        }),
    );
    for (const thread of pool) giveWork(thread);
    return (await Promise.all(results)) as Result[];
  };

  return {
    run,
    async close() {
      closed = true;
      for (const job of waiting.splice(0)) job.reject(new Error("the measuring threads have been ended"));
      // Threads that never started need no ending; why they did not was told to whoever asked for work.
      const pool = starting === null ? [] : await starting.catch(() => []);
      await Promise.all(pool.map(({ worker }) => worker.terminate()));
    },
  };
}
