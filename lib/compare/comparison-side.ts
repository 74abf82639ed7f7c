import type { SensorGeometry } from "../field/geometry.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import type { TestEntry, TrainEntry } from "../records/types.ts";
import type { TestResults, TrainResults } from "../report/results.ts";
import type { StarTable } from "../stars/star-table.ts";

/** One test in one state of a train, with its records, its results and its stars: one side of a comparison. */
export interface ComparisonSide {
  train: TrainEntry;
  /** Null where the train has no test yet: only its records can then be compared. */
  test: TestEntry | null;
  results: TestResults | null;
  /** Results of the whole train; null where only the test is at hand. */
  trainResults: Pick<TrainResults, "sampling" | "ledger"> | null;
  measurement: TestMeasurement | null;
  /**
   * Stars of the main channel, one table a frame in focus, flagged rows included. A star table made elsewhere is one
   * table. Empty where nothing was measured.
   */
  tables: StarTable[];
  /** Where pixels lie on the sensor; null where nothing was measured. */
  geometry: SensorGeometry | null;
}

/** What a comparison is asked for: its record's names and the two sides. */
export interface ComparisonRequest {
  id: string;
  name: string;
  a: ComparisonSide;
  b: ComparisonSide;
  /** Further states of the side that has a reducer: its train's other measured tests, each at a spacing of its own. */
  states?: ComparisonSide[];
}
