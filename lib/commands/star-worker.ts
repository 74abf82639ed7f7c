import { parentPort } from "node:worker_threads";
import { STAR_TASKS } from "../stars/tasks.ts";

/** What the pool asks of a worker. */
export interface WorkerRequest {
  id: number;
  task: string;
  job: unknown;
}

/** What a worker answers: the result, or what went wrong. */
export type WorkerAnswer = { id: number; result: unknown } | { id: number; error: unknown };

parentPort?.on("message", ({ id, task, job }: WorkerRequest) => {
  const found = STAR_TASKS.find(({ name }) => name === task);
  let answer: WorkerAnswer;
  try {
    if (found === undefined) throw new Error(`lib/stars/tasks.ts lists no task "${task}"`);
    answer = { id, result: found.run(job) };
  } catch (error) {
    answer = { id, error };
  }
  parentPort?.postMessage(answer);
});
