import type { TestEntry, TrainEntry } from "../records/types.ts";

/** Whether a test names frames that are measured: lights, flats, those of a focus sweep, or an edge. */
export function isMeasured(test: TestEntry): boolean {
  const { frames, flats, sweep, edge } = test.record;
  return frames.length > 0 || flats.length > 0 || sweep !== null || edge !== null;
}

export function nameTest(train: TrainEntry, test: TestEntry): string {
  return `${train.id}/${test.id}`;
}
