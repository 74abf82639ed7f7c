/**
 * From a photographer's records and frames to published pages, in seven steps. Each step is one function here; what it
 * hands on is plain data, so each can be read, tested and replaced by itself. Start with `makeSite` at the end.
 *
 *   read      records (YAML, Markdown, CSV)      -> Content
 *   load      a frame file                       -> Frame
 *   measure   a frame                            -> FrameMeasurement (star tables)      the only slow step
 *   analyse   records and star tables            -> TestResults of every test
 *   report    records and test results           -> TrainResults, the one object that pages are made from
 *   compare   two tests with their results       -> Comparison of every comparison on record
 *   publish   all results                        -> the site
 *
 * Measuring and publishing are apart: what was measured is kept beside the record (measured.json), so that the pages
 * can be made again years later with no frame at hand.
 */
import type { MatchedMeasurement } from "./compare/matched-measurement.ts";
import { type Fault, ReportError } from "./fault.ts";
import type { Frame } from "./frames/frame.ts";
import { openFrame } from "./frames/open.ts";
import type { TestMeasurement } from "./measured/test-measurement.ts";
import type { RecordMemory } from "./records/known-train.ts";
import { readContent } from "./records/read-content.ts";
import type { ComparisonEntry, Content, TestEntry, TrainEntry } from "./records/types.ts";
import { makeAllTestResults } from "./report/make-all-test-results.ts";
import { addComparisons, makeComparisons } from "./report/make-comparisons.ts";
import { makeTrainResults } from "./report/make-train-results.ts";
import type { Comparison, TestResults, TrainResults } from "./report/results.ts";
import { buildSite, type SiteReport } from "./site/build-site.ts";
import { findNoStarFault } from "./stars/find-frame-fault.ts";
import type { FrameMeasurement } from "./stars/frame-measurement.ts";
import { type FrameRequest, measureFrame } from "./stars/measure-frame.ts";
import type { StarTaskRunner } from "./stars/star-task.ts";

/** 1. Every record under the content folder, checked; throws all faults of all records at once. */
export async function read(contentDir: string, memory: RecordMemory | null = null): Promise<Content> {
  const { content, faults } = await readContent(contentDir, memory);
  if (faults.length > 0) throw new ReportError(faults);
  return content;
}

/** 2. A frame's samples and header; the record's colour-filter pattern wins over the header's. */
export function load(path: string, train: TrainEntry): Promise<Frame> {
  const { cfa } = train.record.camera;
  return openFrame(path, cfa === undefined ? {} : { cfa });
}

/** 3. The stars of a frame, measured; throws where it is no star field. `run` says on which threads. */
export async function measure(
  frame: Frame,
  request: FrameRequest,
  run: StarTaskRunner,
): Promise<FrameMeasurement> {
  const measured = await measureFrame(frame, request, run);
  const fault = findNoStarFault(frame.file, measured.channels, frame.fullScaleAdu);
  if (fault !== null) throw new ReportError([fault]);
  return measured;
}

/** Where the measurement of a test comes from: made now, or stored; null where nothing was measured. */
export type MeasurementSource = (train: TrainEntry, test: TestEntry) => TestMeasurement | null;

/** 4. What the stars of every test of a train say about its field, in the order of the tests' dates. */
export function analyse(train: TrainEntry, findMeasurement: MeasurementSource): TestResults[] {
  return makeAllTestResults(train, (test) => findMeasurement(train, test));
}

/** 5. All that a train's page will say. */
export function report(
  train: TrainEntry,
  tests: TestResults[],
  content: Content,
  software: string,
): TrainResults {
  return makeTrainResults({ train, tests, content, software });
}

/** Where the finer side's frames on the coarser's grid come from: measured now, or stored; null where there are none. */
export type MatchedSource = (comparison: ComparisonEntry) => MatchedMeasurement | null;

/** 6. Every comparison on record, from the results of the trains and the stars of the two tests. */
export function compare(
  content: Content,
  results: readonly TrainResults[],
  findMeasurement: MeasurementSource,
  findMatched: MatchedSource,
): Comparison[] {
  return makeComparisons({ content, results, findMeasurement, findMatched });
}

/**
 * 7. The site with a page for each train and each comparison; the site that stood there is replaced when the new one is
 * whole.
 */
export function publish(
  results: readonly TrainResults[],
  comparisons: readonly Comparison[],
  content: Content,
  outDir: string,
  onStep: (line: string) => void,
): Promise<SiteReport> {
  const trains = results.map((train) => {
    const entry = content.trains.find(({ id }) => id === train.id);
    const cropDirs = Object.fromEntries((entry?.tests ?? []).map((test) => [test.id, test.dir]));
    return { results: train, cropDirs, dir: entry?.dir };
  });
  return buildSite({ trains, comparisons, site: content.site, outDir, onStep });
}

export interface SiteRequest {
  content: Content;
  findMeasurement: MeasurementSource;
  findMatched: MatchedSource;
  outDir: string;
  software: string;
  onStep: (line: string) => void;
}

/** Steps 4 to 7 for every train; faults of all trains are thrown together, before anything is written. */
export async function makeSite(request: SiteRequest): Promise<SiteReport> {
  const { content, findMeasurement, findMatched, outDir, software, onStep } = request;
  const faults: Fault[] = [];
  const results: TrainResults[] = [];
  for (const train of content.trains) {
    try {
      results.push(report(train, analyse(train, findMeasurement), content, software));
    } catch (error) {
      if (!(error instanceof ReportError)) throw error;
      faults.push(...error.faults);
    }
  }
  if (faults.length > 0) throw new ReportError(faults);
  const comparisons = compare(content, results, findMeasurement, findMatched);
  const whole = results.map((train) => addComparisons(train, comparisons));
  return publish(whole, comparisons, content, outDir, onStep);
}
