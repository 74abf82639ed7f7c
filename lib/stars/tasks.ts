import { backgroundBandTask } from "./background.ts";
import { detectBandTask } from "./detect-band.ts";
import { gainTask } from "./estimate-gain.ts";
import { fitStarsTask, learnProfileTask } from "./fit-stars.ts";
import type { StarTask } from "./star-task.ts";

/** A task as a worker sees it: what its jobs hold is between the task and whoever made them. */
interface NamedTask {
  name: string;
  run: (job: unknown) => unknown;
}

function nameTask<Job, Result>(task: StarTask<Job, Result>): NamedTask {
  return { name: task.name, run: (job) => task.run(job as Job) };
}

/** Every piece of the measuring that may run on a worker thread; a worker finds it here by its name. */
export const STAR_TASKS: readonly NamedTask[] = [
  nameTask(backgroundBandTask),
  nameTask(gainTask),
  nameTask(detectBandTask),
  nameTask(learnProfileTask),
  nameTask(fitStarsTask),
];
