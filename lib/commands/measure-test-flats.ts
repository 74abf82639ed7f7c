import { createHash } from "node:crypto";
import { relative } from "node:path";
import { type Fault, ReportError } from "../fault.ts";
import type { Frame } from "../frames/frame.ts";
import type { FlatsMeasurement } from "../light/flat-measurement.ts";
import { roundFlats } from "../light/flats-digits.ts";
import { makeFlatGatherer, mostFlats } from "../light/gather-flats.ts";
import { measureFlats } from "../light/measure-flats.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import { load } from "../pipeline.ts";
import type { TestEntry, TrainEntry } from "../records/types.ts";
import type { FileHashes } from "./file-hashes.ts";
import { type FoundFrame, locateFrames } from "./locate-frames.ts";

export interface FlatsBench {
  framesDir: string | null;
  /** Digest of the code that measures flats. */
  lightCode: string;
  hashes: FileHashes;
  onStep: (line: string) => void;
  recordDir?: string;
}

export interface FlatsOutcome {
  flats: FlatsMeasurement | null;
  /** Frames read in this run. */
  fresh: number;
}

/**
 * The light of a test's flats. Nothing is read again where files, settings and code are those of what is stored; without
 * the files at hand what is stored holds. Frames are read one at a time.
 *
 * @throws ReportError with the faults of every frame
 */
export async function measureTestFlats(
  train: TrainEntry,
  test: TestEntry,
  stored: FlatsMeasurement | undefined,
  bench: FlatsBench,
): Promise<FlatsOutcome> {
  if (test.record.flats.length === 0) return { flats: null, fresh: 0 };
  const flats = await locateNamed(train, test, test.record.flats, bench);
  const zeros = await locateNamed(train, test, test.record.bias, bench);
  const error = flats.error ?? zeros.error;
  if (error !== null) {
    if (stored === undefined) throw error;
    bench.onStep(`${train.id}/${test.id}: flats are not all at hand, what was measured of them holds`);
    return { flats: stored, fresh: 0 };
  }
  const used = flats.found.slice(0, mostFlats);
  const zerosUsed = zeros.found.slice(0, mostFlats);
  const key = await makeFlatsKey(train, used, zerosUsed, bench);
  if (stored?.key === key) return { flats: stored, fresh: 0 };
  const started = performance.now();
  const { camera } = train.record;
  const gatherer = makeFlatGatherer(camera.saturationAdu ?? null);
  const faults: Fault[] = [];
  const take = async (found: FoundFrame, add: (frame: Frame) => Fault | null) => {
    try {
      const frame = await load(relative(process.cwd(), found.path), train);
      const fault = add({ ...frame, file: found.file });
      if (fault !== null) faults.push(fault);
    } catch (caught) {
      if (!(caught instanceof ReportError)) throw caught;
      faults.push(...caught.faults);
    }
  };
  for (const found of used) await take(found, gatherer.addFlat);
  for (const found of zerosUsed) await take(found, gatherer.addZero);
  const gathered = gatherer.finish();
  if (faults.length > 0 || gathered === null) throw new ReportError(faults);
  const measured = measureFlats(gathered, camera, key);
  if (measured.flats === null) throw new ReportError(measured.faults);
  const kept = roundFlats(measured.flats);
  if (flats.found.length > used.length) {
    kept.warnings.push(`The first ${mostFlats} of ${flats.found.length} flats were used.`);
  }
  const corner = kept.channels
    .map(({ channel, falloffPercent }) =>
      falloffPercent === null ? channel : `${channel} ${falloffPercent.value.toFixed(1)} %`,
    )
    .join(", ");
  const seconds = ((performance.now() - started) / 1000).toFixed(1);
  bench.onStep(
    `${train.id}/${test.id}: ${used.length} flats, ${zerosUsed.length} bias frames, corners ${corner}, ${seconds} s`,
  );
  return { flats: kept, fresh: used.length + zerosUsed.length };
}

/** The same with its faults held back, so that those of the lights are told with them. */
export async function tryTestFlats(
  train: TrainEntry,
  test: TestEntry,
  stored: FlatsMeasurement | undefined,
  bench: FlatsBench,
): Promise<FlatsOutcome & { error: ReportError | null }> {
  try {
    return { ...(await measureTestFlats(train, test, stored, bench)), error: null };
  } catch (error) {
    if (!(error instanceof ReportError)) throw error;
    return { flats: null, fresh: 0, error };
  }
}

/** A stored measurement with these flats in place of its own; null: without. */
export function placeFlats(measurement: TestMeasurement, flats: FlatsMeasurement | null): TestMeasurement {
  const { flats: _before, ...rest } = measurement;
  return flats === null ? rest : { ...rest, flats };
}

function locateNamed(train: TrainEntry, test: TestEntry, frames: string[], bench: FlatsBench) {
  if (frames.length === 0) return { found: [], error: null };
  const named = { ...test, dir: bench.recordDir ?? test.dir, record: { ...test.record, frames } };
  return locateFrames(train, named, bench.framesDir);
}

/** Equal keys: the same files, read with the same settings by the same code. */
async function makeFlatsKey(
  train: TrainEntry,
  flats: readonly FoundFrame[],
  zeros: readonly FoundFrame[],
  bench: FlatsBench,
): Promise<string> {
  const digest = async (list: readonly FoundFrame[]) => {
    const hashes: [string, string][] = [];
    for (const { path, file } of list) hashes.push([file, await bench.hashes.hash(path)]);
    return hashes;
  };
  const { widthPx, heightPx, pixelPitchUm, cfa, saturationAdu, biasAdu } = train.record.camera;
  const settings = [widthPx, heightPx, pixelPitchUm, cfa ?? null, saturationAdu ?? null, biasAdu ?? null];
  const text = JSON.stringify([await digest(flats), await digest(zeros), settings, bench.lightCode]);
  return createHash("sha256").update(text).digest("hex").slice(0, 32);
}
