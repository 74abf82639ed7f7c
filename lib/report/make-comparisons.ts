import { compareTests } from "../compare/compare-tests.ts";
import type { ComparisonSide } from "../compare/comparison-side.ts";
import { hasFactor } from "../compare/focal-lengths.ts";
import type { MatchedMeasurement } from "../compare/matched-measurement.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import type { ComparisonEntry, ComparisonRecord, Content, TestEntry, TrainEntry } from "../records/types.ts";
import { readMainStars } from "./make-test-results.ts";
import type { Comparison, TrainResults } from "./results.ts";

export interface ComparisonSources {
  content: Pick<Content, "trains" | "comparisons">;
  /** What follows from records and measurements alone: prose and texts of records have no part in a comparison. */
  results: readonly Pick<TrainResults, "id" | "tests" | "sampling" | "ledger">[];
  findMeasurement: (train: TrainEntry, test: TestEntry) => TestMeasurement | null;
  /** The finer side's frames on the coarser's grid, measured; null where there are none. */
  findMatched: (comparison: ComparisonEntry) => MatchedMeasurement | null;
}

/** The names of a comparison's two sides, each a train with its test; null where a train has no test to choose. */
export interface ChosenTests {
  a: TestEntry | null;
  b: TestEntry | null;
}

/**
 * The tests that a comparison stands for. One that the record names is taken; where it names only the train, the latest
 * test by date whose stars were measured is (by name, of several in one night), or the latest of all where none was.
 * Within one train the test of the other side is never taken, so that a train can be held against its own last state.
 */
export function chooseComparedTests(
  record: ComparisonRecord,
  trains: readonly TrainEntry[],
  isMeasured: (train: TrainEntry, test: TestEntry) => boolean,
): ChosenTests {
  const choose = (side: "a" | "b", taken: TestEntry | null): TestEntry | null => {
    const train = trains.find(({ id }) => id === record[side].train);
    if (train === undefined) return null;
    const { test: named } = record[side];
    if (named !== undefined) return train.tests.find(({ id }) => id === named) ?? null;
    const free = train.tests.filter((test) => test !== taken).sort(compareByDate);
    return free.findLast((test) => isMeasured(train, test)) ?? free.at(-1) ?? null;
  };
  // A side whose test is named chooses first, so that the other does not take it.
  if (record.a.test === undefined) {
    const b = choose("b", null);
    return { a: choose("a", b), b };
  }
  const a = choose("a", null);
  return { a, b: choose("b", a) };
}

function compareByDate(left: TestEntry, right: TestEntry): number {
  const [one, other] = [`${left.record.date} ${left.id}`, `${right.record.date} ${right.id}`];
  return one < other ? -1 : one > other ? 1 : 0;
}

function makeSide(
  train: TrainEntry,
  test: TestEntry | null,
  { results, findMeasurement }: ComparisonSources,
): ComparisonSide {
  const measurement = test === null ? null : findMeasurement(train, test);
  const stars = test === null ? null : readMainStars(train, test, measurement);
  const trainResults = results.find(({ id }) => id === train.id);
  return {
    train,
    test,
    results: trainResults?.tests.find(({ id }) => id === test?.id) ?? null,
    trainResults: trainResults ?? null,
    measurement,
    tables: stars?.tables ?? [],
    geometry: stars?.geometry ?? null,
  };
}

/** Spacings nearer than this are taken as one state, mm; states beyond the count add little to a straight line. */
const sameSpacingMm = 0.05;
const mostStates = 5;

/**
 * Other measured tests of a side's train, the latest of each spacing, where that side has a corrector with a factor: how
 * the factor follows the spacing comes from them.
 */
function listStates(compared: readonly ComparisonSide[], sources: ComparisonSources): ComparisonSide[] {
  const reduced = compared.findLast(hasFactor);
  if (reduced === undefined) return [];
  const taken = compared
    .filter((side) => side.train === reduced.train)
    .map((side) => side.results?.spacingError?.value ?? Number.NaN);
  const states: ComparisonSide[] = [];
  for (const test of [...reduced.train.tests].sort(compareByDate).reverse()) {
    if (compared.some((side) => side.test === test) || states.length === mostStates) continue;
    const state = makeSide(reduced.train, test, sources);
    const spacing = state.results?.spacingError?.value ?? null;
    if (state.tables.length === 0 || spacing === null) continue;
    if (taken.some((known) => Math.abs(known - spacing) < sameSpacingMm)) continue;
    taken.push(spacing);
    states.push(state);
  }
  return states;
}

/** The two sides of a comparison on record; null where a train it names does not exist, which reading refuses. */
export function chooseSides(
  { record }: ComparisonEntry,
  sources: ComparisonSources,
): { a: ComparisonSide; b: ComparisonSide } | null {
  const { content, findMeasurement } = sources;
  const [trainA, trainB] = [record.a, record.b].map(({ train }) =>
    content.trains.find(({ id }) => id === train),
  );
  if (trainA === undefined || trainB === undefined) return null;
  const tests = chooseComparedTests(record, content.trains, (train, test) => {
    return test.record.starTable !== null || findMeasurement(train, test) !== null;
  });
  return { a: makeSide(trainA, tests.a, sources), b: makeSide(trainB, tests.b, sources) };
}

/** Every comparison on record, in the order of the records. */
export function makeComparisons(sources: ComparisonSources): Comparison[] {
  return sources.content.comparisons.flatMap((entry) => {
    const sides = chooseSides(entry, sources);
    if (sides === null) return [];
    const states = listStates([sides.a, sides.b], sources);
    const request = { id: entry.id, name: entry.record.name, ...sides, states };
    return [compareTests(request, sources.findMatched(entry))];
  });
}

/** A train's results with the comparisons that it takes part in. */
export function addComparisons(results: TrainResults, comparisons: readonly Comparison[]): TrainResults {
  const own = comparisons.filter(({ a, b }) => a.train === results.id || b.train === results.id);
  return { ...results, comparisons: own };
}
