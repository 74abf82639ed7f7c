import type { TestEntry, TrainEntry } from "../records/types.ts";

/** Whether a test names frames that are measured: lights, or those of a focus sweep. */
export function isMeasured(test: TestEntry): boolean {
  return test.record.frames.length > 0 || test.record.sweep !== null;
}

export function nameTest(train: TrainEntry, test: TestEntry): string {
  return `${train.id}/${test.id}`;
}
