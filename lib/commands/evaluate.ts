import { type Fault, ReportError } from "../fault.ts";
import { useMemory } from "../maths/remember.ts";
import { decodeMeasurement } from "../measured/decode-measurement.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import { analyse, compare, type MeasurementSource, report } from "../pipeline.ts";
import type { ComparisonEntry, Content, TestEntry, TrainEntry } from "../records/types.ts";
import type { Comparison, TestResults, TrainResults } from "../report/results.ts";
import type { BuildStore, StoredKind } from "./build-store.ts";
import { openBuildStore } from "./build-store.ts";
import { type ModuleCodes, openComputedStore } from "./computed-store.ts";
import { digestMeasured } from "./content-memory.ts";
import { readMatched } from "./matched-store.ts";
import { isMeasured, nameTest } from "./measure-needs.ts";
import { readMeasurement } from "./measurement-store.ts";
import { getResidentMemory } from "./resident-memory.ts";

/** What every job of a build is told. */
export interface BuildSetting {
  /** Folder in which the build keeps what it computed. */
  storeDir: string;
  /** Digest of the code that reads stored measurements. */
  decoder: string;
  /** Digests of the code whose long computations are remembered, by module. */
  codes: ModuleCodes;
  software: string;
  /** What the store holds is computed all the same, so that a program that stays has it at hand. */
  rehearses?: boolean;
  content: Pick<Content, "dir" | "site" | "siteSource">;
}

export interface TrainJob {
  setting: BuildSetting;
  train: TrainEntry;
  /** Equal: the tests' results are the same; equal: the train's results are. */
  keys: { analysis: string; results: string; measured: Readonly<Record<string, string>> };
}

/** A train with the digests of its stored measurements, by test. */
interface MeasuredTrain {
  train: TrainEntry;
  measured: Readonly<Record<string, string>>;
}

/** The stored measurements of some trains' tests. */
async function readMeasured(
  { decoder }: BuildSetting,
  trains: readonly MeasuredTrain[],
): Promise<Map<string, TestMeasurement>> {
  const byTest = new Map<string, TestMeasurement>();
  for (const { train, measured } of trains) {
    for (const test of train.tests) {
      const measurement = isMeasured(test) ? await readOnce(test, decoder, measured[test.id]) : null;
      if (measurement !== null) byTest.set(nameTest(train, test), measurement);
    }
  }
  return byTest;
}

/** A program that stays decodes each measurement once. */
async function readOnce(
  test: TestEntry,
  decoder: string,
  digest: string | undefined,
): Promise<TestMeasurement | null> {
  const resident = getResidentMemory();
  if (resident === null || digest === undefined) return readMeasurement(test, true);
  const name = `measured ${decoder} ${digest}`;
  const known = resident.find(name) as TestMeasurement | undefined;
  if (known !== undefined) return known;
  let found = { digest: "", bytes: 0 };
  const measurement = await readMeasurement(test, true, (text) => {
    const bytes = Buffer.from(text, "utf8");
    found = { digest: digestMeasured(bytes), bytes: bytes.length };
    return decodeMeasurement(text);
  });
  // Written over since its digest was taken, it is another one. As numbers it takes about as much as its text.
  if (measurement !== null && found.digest === digest) resident.keep(name, measurement, found.bytes);
  return measurement;
}

/** Faults in place of an error: they go through threads, and those of all trains are told together. */
async function listFaults(work: () => Promise<void>): Promise<Fault[]> {
  try {
    await work();
    return [];
  } catch (error) {
    if (error instanceof ReportError) return [...error.faults];
    throw error;
  }
}

/**
 * Has the long computations of a train remembered; each test may be given by itself, and to a thread of its own. Faults are
 * told when the train is evaluated.
 */
export async function fitTrain(job: TrainJob): Promise<void> {
  await listFaults(async () => void (await analyseTrain(job)));
}

/** Steps 4 and 5 for one train, unless its results are in the store; yields the faults that stood in the way. */
export async function evaluateTrain(job: TrainJob): Promise<Fault[]> {
  const { setting, train, keys } = job;
  const store = openBuildStore(setting.storeDir);
  if (setting.rehearses) await analyseTrain(job);
  if (store.has("results", keys.results) && store.has("tests", keys.analysis)) return [];
  return listFaults(async () => {
    const tests =
      store.find<TestResults[]>("tests", keys.analysis) ??
      store.keep("tests", keys.analysis, await analyseTrain(job));
    const content = { ...setting.content, trains: [train], comparisons: [] };
    const results = report(train, tests, content, setting.software);
    // The tests, most of a train's results, are kept once.
    const stored: StoredResults = { ...results, tests: keys.analysis };
    store.keep("results", keys.results, stored);
  });
}

/** A train's results with the name of its tests' results in their place. */
type StoredResults = Omit<TrainResults, "tests"> & { tests: string };

async function analyseTrain({ setting, train, keys }: TrainJob): Promise<TestResults[]> {
  const { measured } = keys;
  const byTest = await readMeasured(setting, [{ train, measured }]);
  useMemory(openComputedStore(`${setting.storeDir}/fits`, setting.codes));
  try {
    return analyse(train, (owner, test) => byTest.get(nameTest(owner, test)) ?? null);
  } finally {
    useMemory(null);
  }
}

export interface ComparisonJob {
  setting: BuildSetting;
  entry: ComparisonEntry;
  /** Those that the comparison names, with the keys of their results. */
  trains: readonly (MeasuredTrain & { results: string })[];
  key: string;
}

/** Step 6 for one comparison, unless it is in the store. */
export async function evaluateComparison(job: ComparisonJob): Promise<Fault[]> {
  const { setting, entry, key } = job;
  const store = openBuildStore(setting.storeDir);
  if (!setting.rehearses && store.has("comparisons", key)) return [];
  return listFaults(async () => {
    const trains = job.trains.map(({ train }) => train);
    const results = job.trains.map(({ results }) => readResults(store, results));
    const byTest = await readMeasured(setting, job.trains);
    useMemory(openComputedStore(`${setting.storeDir}/fits`, setting.codes));
    try {
      const content = { ...setting.content, trains, comparisons: [entry] };
      const find: MeasurementSource = (train, test) => byTest.get(nameTest(train, test)) ?? null;
      const matched = await readMatched(setting.content.dir, entry.id, true);
      const [comparison] = compare(content, results, find, () => matched);
      store.keep("comparisons", key, comparison ?? null);
    } finally {
      useMemory(null);
    }
  });
}

/** What an earlier job of the same build has put into the store. */
function findStored<Value>(store: BuildStore, kind: StoredKind, key: string): Value {
  const value = store.find<Value>(kind, key);
  if (value === null) throw new Error(`${kind} of a train vanished from the build's store`);
  return value;
}

function readResults(store: BuildStore, key: string): TrainResults {
  const stored = findStored<StoredResults>(store, "results", key);
  return { ...stored, tests: findStored<TestResults[]>(store, "tests", stored.tests) };
}

/** A train's results with the comparisons it takes part in, as computed before. */
export function readWhole(store: BuildStore, results: string, comparisons: readonly string[]): TrainResults {
  const own = comparisons.map((key) => store.find<Comparison>("comparisons", key));
  return { ...readResults(store, results), comparisons: own.filter((entry) => entry !== null) };
}
