import { relative } from "node:path";
import { ReportError } from "../fault.ts";
import { findGeometry, isFault } from "../field/find-geometry.ts";
import type { Frame } from "../frames/frame.ts";
import { MEASUREMENT_FORMAT, type TestMeasurement } from "../measured/test-measurement.ts";
import { load, measure } from "../pipeline.ts";
import type { TestEntry, TrainEntry } from "../records/types.ts";
import { chooseMainChannel } from "../report/choose-main-channel.ts";
import { findMixedFrames, findOtherFields } from "../stars/check-same-kind.ts";
import { combineFrames } from "../stars/combine-frames.ts";
import type { FrameMeasurement } from "../stars/frame-measurement.ts";
import type { StarTaskRunner } from "../stars/star-task.ts";
import { thinForSweep } from "../stars/thin-stars.ts";
import type { FileHashes } from "./file-hashes.ts";
import { chooseCrops, hasCrops, writeCrops } from "./keep-crops.ts";
import { type FoundFrame, locateFrames } from "./locate-frames.ts";
import { isMeasured } from "./measure-needs.ts";
import { measureTestColour } from "./measure-test-colour.ts";
import { type EdgeBench, measureTestEdge } from "./measure-test-edge.ts";
import { type FlatsBench, placeFlats, tryTestFlats } from "./measure-test-flats.ts";
import {
  makeFrameKey,
  readMeasurement,
  readSettings,
  type UnfinishedFrames,
  writeMeasurement,
} from "./measurement-store.ts";

/** What the measuring of tests needs of the world. */
export interface MeasuringBench extends EdgeBench, FlatsBench {
  framesDir: string | null;
  code: string;
  hashes: FileHashes;
  unfinished: UnfinishedFrames;
  run: StarTaskRunner;
  onStep: (line: string) => void;
  /** Where the frames' paths count from, when that is not the folder that measurements go to. */
  recordDir?: string;
}

export interface TestOutcome {
  measurement: TestMeasurement | null;
  /** Frames measured in this run. */
  fresh: number;
}

/**
 * The measurement of a test, with as little work as is right: a frame whose key stands in measured.json, or was finished
 * in an interrupted run, is not measured again. Without its frames at hand the stored measurement holds.
 *
 * @throws ReportError with the faults of every frame of the test; what was measured until then is kept.
 */
export async function measureTest(
  train: TrainEntry,
  test: TestEntry,
  bench: MeasuringBench,
): Promise<TestOutcome> {
  if (!isMeasured(test)) return { measurement: null, fresh: 0 };
  const stored = await readMeasurement(test, false);
  const lights = await locateNamed(train, test, test.record.frames, bench);
  const swept = await locateNamed(train, test, test.record.sweep?.frames ?? [], bench);
  const light = await tryTestFlats(train, test, stored?.flats, bench);
  const error = lights.error ?? swept.error;
  if (error !== null) {
    if (stored === null) throw new ReportError([...error.faults, ...(light.error?.faults ?? [])]);
    if (light.error !== null) throw light.error;
    bench.onStep(`${train.id}/${test.id}: frames are not all at hand, the stored measurement holds`);
    const measurement = placeFlats(stored, light.flats);
    if (light.fresh > 0) await writeMeasurement(test, measurement);
    return { measurement, fresh: light.fresh };
  }
  const series = await measureFrames(train, test, lights.found, stored?.frames ?? [], bench, "frame");
  const sweep = await measureFrames(train, test, swept.found, stored?.sweep ?? [], bench, "sweep frame");
  const faults = [...series.faults, ...sweep.faults, ...(light.error?.faults ?? [])];
  if (faults.length > 0) throw new ReportError(faults);
  const { frames, fresh } = series;
  if (frames.length > 0 && (fresh > 0 || frames.length !== stored?.frames.length)) checkSeries(frames);
  const { edge, fresh: freshEdges } = await measureTestEdge(train, test, stored?.edge, bench);
  const colour = await measureTestColour({
    train,
    test,
    frames,
    found: lights.found,
    first: series.first,
    stored: stored?.colour,
    colourCode: bench.colourCode,
    onStep: bench.onStep,
  });
  const parts: FurtherParts = {
    ...(colour === null ? {} : { colour }),
    ...(edge === null ? {} : { edge }),
    ...(light.flats === null ? {} : { flats: light.flats }),
  };
  const found = lights.found[0];
  const measurement = await keepTest(train, test, series, sweep.frames, found, stored, bench, parts);
  await bench.unfinished.drop([...frames, ...sweep.frames].map(({ key }) => key));
  return { measurement, fresh: fresh + sweep.fresh + freshEdges + light.fresh };
}

/** What is measured beside the star tables. */
type FurtherParts = Pick<TestMeasurement, "colour" | "edge" | "flats">;

async function locateNamed(train: TrainEntry, test: TestEntry, frames: string[], bench: MeasuringBench) {
  if (frames.length === 0) return { found: [], error: null };
  const named = { ...test, dir: bench.recordDir ?? test.dir, record: { ...test.record, frames } };
  return locateFrames(train, named, bench.framesDir);
}

interface MeasuredSeries {
  frames: FrameMeasurement[];
  /** The first frame's samples, where they had to be read anyway: the cut-outs come from it. */
  first: Frame | null;
  fresh: number;
  faults: ReportError["faults"][number][];
}

async function measureFrames(
  train: TrainEntry,
  test: TestEntry,
  found: readonly FoundFrame[],
  stored: readonly FrameMeasurement[],
  bench: MeasuringBench,
  word: string,
): Promise<MeasuredSeries> {
  const settings = readSettings(train.record.camera);
  const series: MeasuredSeries = { frames: [], first: null, fresh: 0, faults: [] };
  for (const [index, { path, file }] of found.entries()) {
    try {
      const key = makeFrameKey(await bench.hashes.hash(path), settings, bench.code);
      const known = stored.find((frame) => frame.key === key) ?? (await bench.unfinished.find(key));
      if (known !== null && known !== undefined) {
        series.frames.push({ ...known, file });
        continue;
      }
      const started = performance.now();
      const frame = await load(relative(process.cwd(), path), train);
      checkSize(frame, train);
      const measured = await measure(
        frame,
        { file, key, settings, askedKeywords: listAskedKeywords(test) },
        bench.run,
      );
      series.frames.push(await bench.unfinished.keep(measured));
      series.fresh++;
      if (index === 0) series.first = frame;
      bench.onStep(
        describeFrame(
          train,
          test,
          measured,
          `${word} ${index + 1} of ${found.length}`,
          performance.now() - started,
        ),
      );
    } catch (error) {
      if (!(error instanceof ReportError)) throw error;
      series.faults.push(...error.faults);
    }
  }
  return series;
}

function listAskedKeywords(test: TestEntry): string[] {
  const asked = [test.record.altitudeDeg, test.record.sweep?.positions];
  return asked.flatMap((value) =>
    typeof value === "string" && value.startsWith("header:") ? [value.slice("header:".length)] : [],
  );
}

function checkSize(frame: Frame, train: TrainEntry): void {
  const geometry = findGeometry(
    { ...frame, header: { binning: frame.header.binning, cropOriginPx: readOrigin(frame) } },
    train.record.camera,
  );
  if (isFault(geometry)) throw new ReportError([geometry]);
}

function readOrigin(frame: Frame): { x: number; y: number } | null {
  const { XORGSUBF: x, YORGSUBF: y } = frame.header.keywords;
  return x === undefined || y === undefined ? null : { x: Number.parseFloat(x), y: Number.parseFloat(y) };
}

/** Throws where frames of different kinds or of another field are mixed. */
function checkSeries(frames: readonly FrameMeasurement[]): void {
  const mixed = findMixedFrames(frames);
  if (mixed.length > 0) throw new ReportError(mixed);
  const main = chooseMainChannel(frames[0].channels.map(({ channel }) => channel));
  const tables = frames.flatMap((frame) =>
    frame.channels.filter(({ channel }) => channel === main).map(({ stars }) => stars),
  );
  const { unmatched } = combineFrames(tables);
  const others = findOtherFields(
    frames.map(({ file }) => file),
    unmatched,
  );
  if (others.length > 0) throw new ReportError(others);
}

async function keepTest(
  train: TrainEntry,
  test: TestEntry,
  { frames, first }: MeasuredSeries,
  sweep: readonly FrameMeasurement[],
  found: FoundFrame | undefined,
  stored: TestMeasurement | null,
  bench: MeasuringBench,
  parts: FurtherParts,
): Promise<TestMeasurement> {
  const geometry = frames.length === 0 ? null : findGeometry(frames[0], train.record.camera);
  const crops = geometry === null || isFault(geometry) ? [] : chooseCrops(frames[0], geometry.geometry);
  const kept =
    stored !== null &&
    stored.frames[0]?.key === frames[0]?.key &&
    JSON.stringify(stored.crops) === JSON.stringify(crops) &&
    (await hasCrops(test, crops));
  if (!kept && found !== undefined) await writeCrops(test, first ?? (await load(found.path, train)), crops);
  const measurement: TestMeasurement = {
    format: MEASUREMENT_FORMAT,
    code: bench.code,
    settings: readSettings(train.record.camera),
    frames,
    ...(sweep.length === 0 ? {} : { sweep: sweep.map(thinForSweep) }),
    crops,
    ...parts,
  };
  await writeMeasurement(test, measurement);
  return measurement;
}

function describeFrame(
  train: TrainEntry,
  test: TestEntry,
  frame: FrameMeasurement,
  place: string,
  elapsedMs: number,
): string {
  const stars = frame.channels
    .map(({ channel, found }) => `${channel === "L" ? "" : `${channel} `}${found}`)
    .join(", ");
  return `${train.id}/${test.id}: ${place}, ${stars} stars, ${(elapsedMs / 1000).toFixed(1)} s`;
}
