import { parentPort } from "node:worker_threads";
import { runPageTask } from "./page-tasks.ts";
import type { PageAnswer, PageRequest } from "./page-threads.ts";

parentPort?.on("message", async ({ id, task, job }: PageRequest) => {
  const answer: PageAnswer = await runPageTask(task, job).then(
    (result) => ({ id, result }),
    (error: unknown) => ({ id, error }),
  );
  parentPort?.postMessage(answer);
});
