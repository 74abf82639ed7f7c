import { relative } from "node:path";
import { alikeWithin, chooseCoarser } from "../compare/compare-matched.ts";
import { findRatio } from "../compare/compare-scales.ts";
import type { ComparisonSide } from "../compare/comparison-side.ts";
import { MATCHED_FORMAT, type MatchedMeasurement } from "../compare/matched-measurement.ts";
import { measureMatchedFrame } from "../compare/measure-matched.ts";
import { type Fault, ReportError } from "../fault.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import { load } from "../pipeline.ts";
import type { ComparisonEntry, Content } from "../records/types.ts";
import { chooseMainChannel } from "../report/choose-main-channel.ts";
import { chooseSides } from "../report/make-comparisons.ts";
import { chooseInFocus } from "../report/series.ts";
import type { StarTaskRunner } from "../stars/star-task.ts";
import type { FileHashes } from "./file-hashes.ts";
import { type FoundFrame, locateFrames } from "./locate-frames.ts";
import { makeMatchedKey, readMatched, writeMatched } from "./matched-store.ts";
import { nameTest } from "./measure-needs.ts";

/** What the matched measuring needs of the world. */
export interface MatchedBench {
  framesDir: string | null;
  /** Digest of the code that resamples and measures. */
  code: string;
  hashes: FileHashes;
  run: StarTaskRunner;
  onStep: (line: string) => void;
}

interface MatchedTask {
  finer: ComparisonSide;
  onto: ComparisonSide;
  coarser: "a" | "b";
  pixelRatio: number;
}

/** Decimals of the ratio that count: a ten-thousandth is far below what widths are known to, and keeps keys steady. */
const ratioDecimals = 4;

/** What there is to resample in a comparison; null where a side has no stars, or both sample alike. */
function planMatched(
  entry: ComparisonEntry,
  content: Content,
  byTest: ReadonlyMap<string, TestMeasurement>,
): MatchedTask | null {
  const sides = chooseSides(entry, {
    content,
    results: [],
    findMeasurement: (train, test) => byTest.get(nameTest(train, test)) ?? null,
    findMatched: () => null,
  });
  if (sides === null || sides.a.tables.length === 0 || sides.b.tables.length === 0) return null;
  const choice = chooseCoarser(findRatio(sides), sides.a, sides.b);
  if (choice === null || choice.pixelRatio - 1 < alikeWithin) return null;
  const { coarser } = choice;
  const [finer, onto] = coarser === "a" ? [sides.b, sides.a] : [sides.a, sides.b];
  return { finer, onto, coarser, pixelRatio: Number(choice.pixelRatio.toFixed(ratioDecimals)) };
}

/** The finer side's frames in focus, by the place its measurement gives them. */
async function findFrames(task: MatchedTask, bench: MatchedBench): Promise<FoundFrame[] | null> {
  const { train, test, measurement } = task.finer;
  if (test === null || measurement === null) return null;
  const { found, error } = await locateFrames(train, test, bench.framesDir);
  if (error !== null) return null;
  const inFocus = chooseInFocus(measurement.frames, test.record.focusOffsetUm);
  const wanted = new Set(inFocus.map(({ sha256 }) => sha256));
  const frames: FoundFrame[] = [];
  for (const frame of found) if (wanted.has(await bench.hashes.hash(frame.path))) frames.push(frame);
  return frames.length === wanted.size ? frames : null;
}

function nameSide({ train, test }: ComparisonSide): { train: string; test: string } {
  return { train: train.id, test: test?.id ?? "" };
}

/** The matched measurement of one comparison: stored where its key is the same, else made now; null where it cannot be made. */
async function measureComparison(
  entry: ComparisonEntry,
  task: MatchedTask,
  stored: MatchedMeasurement | null,
  bench: MatchedBench,
): Promise<{ measurement: MatchedMeasurement; fresh: boolean } | null> {
  const { finer, onto, coarser, pixelRatio } = task;
  const frames = await findFrames(task, bench);
  if (frames === null) {
    const { train, test } = nameSide(finer);
    bench.onStep(
      `comparison ${entry.id}: the frames of ${train}/${test} are not all at hand, ${stored === null ? "not measured at matched sampling" : "what is stored holds"}`,
    );
    return null;
  }
  const first = finer.measurement?.frames[0];
  const channel = chooseMainChannel(first?.channels.map((one) => one.channel) ?? []);
  const own = first?.channels.find((one) => one.channel === channel);
  const request = {
    channel,
    pixelRatio,
    gainElectronsPerAdu: own?.gainElectronsPerAdu ?? null,
    saturationAdu: finer.train.record.camera.saturationAdu ?? null,
  };
  const sha256s: string[] = [];
  for (const { path } of frames) sha256s.push(await bench.hashes.hash(path));
  const key = makeMatchedKey({ ...request, sha256s, code: bench.code });
  if (stored?.key === key) return { measurement: stored, fresh: false };
  const measured: MatchedMeasurement["frames"] = [];
  for (const [place, { path, file }] of frames.entries()) {
    const started = performance.now();
    const frame = await load(relative(process.cwd(), path), finer.train);
    const saturationAdu = request.saturationAdu ?? frame.header.saturationAdu;
    measured.push(await measureMatchedFrame(frame, { ...request, saturationAdu, file, key }, bench.run));
    const seconds = ((performance.now() - started) / 1000).toFixed(1);
    bench.onStep(
      `comparison ${entry.id}: matched frame ${place + 1} of ${frames.length}, ${measured[place].channels[0].found} stars, ${seconds} s`,
    );
  }
  const head = { format: MATCHED_FORMAT, code: bench.code, key, coarser, pixelRatio } as const;
  return {
    measurement: { ...head, finer: nameSide(finer), onto: nameSide(onto), frames: measured },
    fresh: true,
  };
}

/**
 * Resamples and measures again what is new or changed among the comparisons, and stores it beside their records. What is
 * stored stays where the frames are not at hand. All faults are thrown together at the end.
 *
 * @returns frames measured now
 */
export async function measureComparisons(
  content: Content,
  byTest: ReadonlyMap<string, TestMeasurement>,
  bench: MatchedBench,
): Promise<number> {
  const faults: Fault[] = [];
  let fresh = 0;
  for (const entry of content.comparisons) {
    try {
      const task = planMatched(entry, content, byTest);
      if (task === null) continue;
      const stored = await readMatched(content.dir, entry.id, false);
      const made = await measureComparison(entry, task, stored, bench);
      if (made?.fresh !== true) continue;
      fresh += made.measurement.frames.length;
      await writeMatched(content.dir, entry.id, made.measurement);
    } catch (error) {
      if (!(error instanceof ReportError)) throw error;
      faults.push(...error.faults);
    }
  }
  if (faults.length > 0) throw new ReportError(faults);
  return fresh;
}

/** What measuring again at matched sampling would give for one comparison; null where it cannot be made. Nothing is stored. */
export async function remeasureComparison(
  entry: ComparisonEntry,
  content: Content,
  byTest: ReadonlyMap<string, TestMeasurement>,
  bench: MatchedBench,
): Promise<MatchedMeasurement | null> {
  const task = planMatched(entry, content, byTest);
  if (task === null) return null;
  return (await measureComparison(entry, task, null, bench))?.measurement ?? null;
}
