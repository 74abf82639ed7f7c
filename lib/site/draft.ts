import type { TrainResults } from "../report/results.ts";

/** A report whose author marked it as unfinished: its page is built and says so, and no list, feed or map names it. */
export function isDraft(results: TrainResults): boolean {
  return results.page.draft === true;
}
