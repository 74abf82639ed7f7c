import type { RadialMeans } from "../field/fit-field.ts";
import { settleLedger } from "../ledger/make-ledger.ts";
import { recall } from "../maths/remember.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import type { TestEntry, TrainEntry } from "../records/types.ts";
import { stageColour } from "./colour-stage.ts";
import { describeColours, finishTest, stageTest } from "./make-test-results.ts";
import type { TestResults } from "./results.ts";

/** A train without what no number follows from, so that a change of it asks for no analysis anew. */
function takeNumbers(train: TrainEntry): TrainEntry {
  const source = { ...train.source, text: "", sha256: "" };
  const record = { ...train.record, name: "" };
  return { ...train, dir: "", source, record, partSources: [], review: null, tests: [] };
}

/** The same of a test; the file of its record is named in faults. */
function takeTestNumbers(test: TestEntry): TestEntry {
  const source = { ...test.source, text: "", sha256: "" };
  return { ...test, dir: "", source, record: { ...test.record, notes: "" } };
}

function compareByDate(a: TestEntry, b: TestEntry): number {
  return a.record.date < b.record.date ? -1 : a.record.date > b.record.date ? 1 : a.id < b.id ? -1 : 1;
}

/**
 * All tests of a train, in the order of their dates (tests of one date by their names). What the nights at several
 * spacings say together of the signs of heights goes into each night's field, diagnosis and moves.
 */
export function makeAllTestResults(
  train: TrainEntry,
  findMeasurement: (test: TestEntry) => TestMeasurement | null,
): TestResults[] {
  const owner = takeNumbers(train);
  const entries = [...train.tests].sort(compareByDate).map((entry) => {
    return { entry, test: takeTestNumbers(entry), measurement: findMeasurement(entry) };
  });
  const staged = entries.map(({ test, measurement }) =>
    recall("report/make-test-results#stage", stageTest, owner, test, measurement),
  );
  const { radialMeans } = settleLedger(
    staged.map(({ results }) => ({ test: results, folded: results.folded ?? null })),
  );
  const finished = entries.map(({ test, measurement }, k) => {
    // A staged test follows from the other inputs and is not looked through for the key.
    const finish = (...inputs: [TrainEntry, TestEntry, TestMeasurement | null, RadialMeans | null]) =>
      finishTest(staged[k], ...inputs);
    const name = "report/make-test-results#finish";
    return describeColours(
      owner,
      test,
      measurement,
      recall(name, finish, owner, test, measurement, radialMeans),
    );
  });
  return stageColour(owner, finished).map((results, k) => {
    const notesMarkdown = entries[k].entry.record.notes;
    return { ...results, record: { ...results.record, notesMarkdown } };
  });
}
