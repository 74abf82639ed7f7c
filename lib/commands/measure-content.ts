import { join } from "node:path";
import { type Fault, ReportError } from "../fault.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import { listNearest } from "../records/check-comparison.ts";
import type { Content, TestEntry, TrainEntry } from "../records/types.ts";
import { hashColourCode, hashLightCode, hashMatchedCode, hashMeasuringCode } from "./bundle-code.ts";
import { openFileHashes } from "./file-hashes.ts";
import { measureComparisons } from "./measure-comparisons.ts";
import { isMeasured, nameTest } from "./measure-needs.ts";
import { measureTest } from "./measure-test.ts";
import { openUnfinishedFrames, readMeasurement } from "./measurement-store.ts";
import { makeWorkerPool } from "./worker-pool.ts";

export interface MeasureRequest {
  framesDir: string | null;
  /** "TRAIN" or "TRAIN/TEST"; null: everything. */
  only: string | null;
  jobs: number | undefined;
  shard: { index: number; count: number };
  onStep: (line: string) => void;
}

export interface Measurements {
  /** By "train/test". */
  byTest: Map<string, TestMeasurement>;
  /** Frames measured now, and tests looked at. */
  fresh: number;
  tests: number;
}

export const everything = { index: 1, count: 1 };

/** The tests that --only and --shard leave, in the order of the content. A name that no test has is a fault. */
export function chooseTests(
  content: Content,
  only: string | null,
  shard: { index: number; count: number },
): { train: TrainEntry; test: TestEntry }[] {
  const all = content.trains.flatMap((train) => train.tests.map((test) => ({ train, test })));
  const asked = only?.replace(/\/$/, "") ?? null;
  const named = all.filter(
    ({ train, test }) => asked === null || asked === train.id || asked === nameTest(train, test),
  );
  const isTrain = content.trains.some((train) => train.id === asked);
  if (named.length === 0 && asked !== null && !isTrain) {
    const names = [
      ...content.trains.map(({ id }) => id),
      ...all.map(({ train, test }) => nameTest(train, test)),
    ];
    throw new ReportError([
      {
        code: "commands/unknown-test",
        file: "--only",
        found: JSON.stringify(asked),
        allowed: `TRAIN or TRAIN/TEST: ${listNearest(asked, names, "there is none")}`,
        fix: "give a name of the content folder",
      },
    ]);
  }
  return named.filter((_, place) => place % shard.count === shard.index - 1);
}

/**
 * Measures what is new or changed among the tests chosen, and, where all are, the comparisons' frames at matched sampling. A test with a fault does not keep the others from being
 * measured; all faults are thrown together at the end.
 */
export async function measureContent(content: Content, request: MeasureRequest): Promise<Measurements> {
  const chosen = chooseTests(content, request.only, request.shard);
  const cache = join(content.dir, ".cache");
  const pool = makeWorkerPool(request.jobs);
  const hashes = await openFileHashes(join(cache, "hashes.json"));
  const measurements: Measurements = { byTest: new Map(), fresh: 0, tests: chosen.length };
  const faults: Fault[] = [];
  try {
    const bench = {
      framesDir: request.framesDir,
      code: await hashMeasuringCode(),
      colourCode: await hashColourCode(),
      lightCode: await hashLightCode(),
      hashes,
      unfinished: openUnfinishedFrames(join(cache, "frames")),
      run: pool.run,
      onStep: request.onStep,
    };
    for (const { train, test } of chosen) {
      try {
        const { measurement, fresh } = await measureTest(train, test, bench);
        if (measurement !== null) measurements.byTest.set(nameTest(train, test), measurement);
        measurements.fresh += fresh;
      } catch (error) {
        if (!(error instanceof ReportError)) throw error;
        faults.push(...error.faults);
      }
    }
    // A part of the tests does not tell which side is the finer.
    if (faults.length === 0 && request.only === null && request.shard.count === 1) {
      const { byTest } = measurements;
      const matched = { ...bench, code: await hashMatchedCode() };
      measurements.fresh += await measureComparisons(content, byTest, matched);
    }
  } finally {
    await pool.close();
    await hashes.save();
  }
  if (faults.length > 0) throw new ReportError(faults);
  return measurements;
}

/** The stored measurements of every test, for a build without frames. */
export async function readMeasurements(content: Content): Promise<Map<string, TestMeasurement>> {
  const byTest = new Map<string, TestMeasurement>();
  const faults: Fault[] = [];
  for (const { train, test } of chooseTests(content, null, everything)) {
    try {
      const measurement = isMeasured(test) ? await readMeasurement(test, true) : null;
      if (measurement !== null) byTest.set(nameTest(train, test), measurement);
    } catch (error) {
      if (!(error instanceof ReportError)) throw error;
      faults.push(...error.faults);
    }
  }
  if (faults.length > 0) throw new ReportError(faults);
  return byTest;
}
