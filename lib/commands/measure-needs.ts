import type { TestEntry, TrainEntry } from "../records/types.ts";

/** Whether a test names frames that are measured: lights, those of a focus sweep, or an edge. */
export function isMeasured(test: TestEntry): boolean {
  return test.record.frames.length > 0 || test.record.sweep !== null || test.record.edge !== null;
}

export function nameTest(train: TrainEntry, test: TestEntry): string {
  return `${train.id}/${test.id}`;
}
