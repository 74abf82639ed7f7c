import type { TrainEntry } from "./types.ts";

/** A train whose records were read before, whole and without a fault. */
export interface KnownTrain {
  entry: TrainEntry;
  /** Ids of its tests. */
  tests: string[];
}

/**
 * What an earlier reading found in folders that have not changed since. Whoever gives it answers for that, for the
 * shared records (site.yaml, parts) as for the train's own.
 */
export interface RecordMemory {
  find: (id: string) => KnownTrain | null;
  keep: (id: string, known: KnownTrain) => void;
}
