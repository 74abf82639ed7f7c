import type { RadialMeans } from "../field/fit-field.ts";
import type { SensorGeometry } from "../field/geometry.ts";
import { type FieldMeasures, measureField } from "../field/measure-field.ts";
import { findSiteSpacing } from "../field/profile-error.ts";
import type { ZoneResults } from "../field/zones.ts";
import { makeMeasured } from "../maths/quantity.ts";
import { recall } from "../maths/remember.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import type { TestEntry, TrainEntry } from "../records/types.ts";
import type { FrameMeasurement, LevelMeasurement } from "../stars/frame-measurement.ts";
import { listUsableStars, STAR_FLAGS, type StarTable } from "../stars/star-table.ts";
import { computeSpacingError } from "../train/back-focus.ts";
import { chooseFocalLength } from "../train/focal-length.ts";
import { chooseMainChannel } from "./choose-main-channel.ts";
import { type ColouredTest, stageColour } from "./colour-stage.ts";
import { finishField, type StagedTest, stageField, stageSweep } from "./field-stage.ts";
import { stageLight } from "./light-stage.ts";
import { listSpokes } from "./list-spokes.ts";
import { stageNight } from "./night-stage.ts";
import type { TestResults } from "./results.ts";
import { chooseInFocus, describeSeries } from "./series.ts";
import { readFrames, readTable } from "./star-source.ts";

type Scale = TestResults["scale"];

/**
 * The stars of the channel that stands for a test, one table a frame in focus, and where their pixels lie on the sensor;
 * null where neither frames nor a star table were measured.
 */
export function readMainStars(
  train: TrainEntry,
  test: TestEntry,
  measurement: TestMeasurement | null,
): { tables: StarTable[]; geometry: SensorGeometry } | null {
  const inFocus = chooseInFocus(measurement?.frames ?? [], test.record.focusOffsetUm);
  const nominal = makeScale(train, [], train.record.camera.pixelPitchUm).scale;
  const source =
    inFocus.length > 0 ? readFrames(train, inFocus) : readTable(train, test, nominal.arcsecPerPx);
  if (source === null) return null;
  const main = chooseMainChannel([...source.tables.keys()]);
  return { tables: source.tables.get(main) ?? [], geometry: source.geometry };
}

function makeScale(train: TrainEntry, frames: readonly FrameMeasurement[], umPerPx: number) {
  const header = frames[0]?.header;
  const choice = chooseFocalLength({
    record: train.record,
    headerFocalLength: header?.focalLengthMm ?? null,
    wcsScale: header?.wcsScaleArcsecPerPx ?? null,
    pixelPitch: umPerPx,
  });
  const focalLengthMm = choice.focalLength.value ?? train.record.telescope.focalLengthMm;
  const scale: Scale = {
    umPerPx,
    arcsecPerPx: (206.264806 * umPerPx) / focalLengthMm,
    focalLengthMm,
    from: choice.from,
  };
  return { scale, warnings: choice.warnings };
}

function toLevel(level: LevelMeasurement) {
  return makeMeasured(level.median, "ADU", level.lo, level.hi, level.cells);
}

function describeFrame(frame: FrameMeasurement, main: string): TestResults["frames"][number] {
  const channel = frame.channels.find((part) => part.channel === main) ?? frame.channels[0];
  const saturated = channel.stars.flags.reduce(
    (sum, flags) => sum + (flags & STAR_FLAGS.saturated ? 1 : 0),
    0,
  );
  return {
    file: frame.file,
    sha256: frame.sha256,
    found: channel.found,
    used: listUsableStars(channel.stars).length,
    saturated,
    background: toLevel(channel.background),
    noise: toLevel(channel.noise),
    warnings: [...frame.warnings, ...frame.channels.flatMap((part) => part.warnings)],
  };
}

/** A record's number, or one that it asks of the frame's header by `header:KEYWORD`. */
function readAltitude(asked: number | string | null, frames: readonly FrameMeasurement[]): number | null {
  if (typeof asked !== "string") return asked;
  const text = frames[0]?.header.asked[asked.replace(/^header:/, "")];
  const value = Number.parseFloat(text ?? "");
  return Number.isFinite(value) ? value : (frames[0]?.header.altitudeDeg ?? null);
}

/**
 * One test's results from its record and what was measured of its frames (or the star table that stands in for them).
 * `measurement` null: nothing was measured; zones and figures of stars are then null.
 */
export function makeTestResults(
  train: TrainEntry,
  test: TestEntry,
  measurement: TestMeasurement | null,
): TestResults {
  const staged = stageTest(train, test, measurement);
  const results = finishTest(staged, train, test, measurement, null);
  return stageColour(train, [describeColours(train, test, measurement, results)])[0];
}

/** What colour is measured from, once all else is. */
export function describeColours(
  train: TrainEntry,
  test: TestEntry,
  measurement: TestMeasurement | null,
  results: TestResults,
): ColouredTest {
  const fitSweep = (channel: string) => stageSweep({ train, test, measurement, results }, channel).sweep;
  return { test, measurement, results, fitSweep };
}

/** A staged test with the signs of its heights settled; the night joins here, as it asks for the finished field. */
export function finishTest(
  staged: StagedTest,
  train: TrainEntry,
  test: TestEntry,
  measurement: TestMeasurement | null,
  radialMeans: RadialMeans | null,
): TestResults {
  const finished = finishField(staged, train, radialMeans);
  const { zones, field } = finished;
  const night = recall("report/night-stage", stageNight, test, measurement, { zones, field });
  return { ...finished, night };
}

/** A test by itself, the signs of its heights still open. */
export function stageTest(
  train: TrainEntry,
  test: TestEntry,
  measurement: TestMeasurement | null,
): StagedTest {
  const frames = measurement?.frames ?? [];
  const inFocus = chooseInFocus(frames, test.record.focusOffsetUm);
  const nominal = makeScale(train, [], train.record.camera.pixelPitchUm).scale;
  const source =
    inFocus.length > 0 ? readFrames(train, inFocus) : readTable(train, test, nominal.arcsecPerPx);
  const { scale, warnings: scaleWarnings } = makeScale(
    train,
    inFocus,
    source?.geometry.umPerPx ?? train.record.camera.pixelPitchUm,
  );
  const main = chooseMainChannel([...(source?.tables.keys() ?? [])]);
  const measures = new Map<string, FieldMeasures>();
  if (source !== null) {
    for (const [channel, tables] of source.tables) {
      const spacingPx = findSiteSpacing(channel, source.tables.size);
      measures.set(channel, measureField(tables, source.geometry, scale, spacingPx));
    }
  }
  const field = measures.get(main);
  const channelZones: Record<string, ZoneResults> = {};
  for (const [channel, measured] of measures) if (channel !== main) channelZones[channel] = measured.zones;
  const { camera } = train.record;
  const light = recall("report/light-stage", stageLight, train, test, measurement);
  const results: TestResults = {
    id: test.id,
    date: test.record.date,
    spacingError: computeSpacingError(train.record, test.record),
    frames: frames.map((frame) => describeFrame(frame, main)),
    zones: field?.zones ?? null,
    field: null,
    diagnosis: null,
    moves: null,
    sweep: null,
    ...light.results,
    colour: null,
    night: null,
    record: {
      spacersMm: test.record.spacersMm,
      filter: test.record.filter?.name ?? inFocus[0]?.header.filter ?? null,
      cameraAngleDeg: test.record.cameraAngleDeg,
      altitudeDeg: readAltitude(test.record.altitudeDeg, frames),
      conditions: test.record.conditions,
      notesMarkdown: test.record.notes,
    },
    channelZones,
    channel: main,
    starField: field?.starField ?? null,
    radialProfile: field?.radialProfile ?? null,
    contrasts: field?.contrasts ?? null,
    spokes: measurement === null || source === null ? null : listSpokes(measurement, source.geometry, main),
    scale,
    sensor: {
      widthMm: (camera.widthPx * camera.pixelPitchUm) / 1000,
      heightMm: (camera.heightPx * camera.pixelPitchUm) / 1000,
    },
    warnings: [
      ...(source?.warnings ?? []),
      ...scaleWarnings,
      ...light.warnings,
      ...describeSeries(frames, inFocus, field?.combined.unmatched ?? [], train.record.camera),
    ],
  };
  const all = frames.flatMap((frame) =>
    frame.channels.filter(({ channel }) => channel === main).map(({ stars }) => stars),
  );
  return stageField({
    train,
    test,
    measurement,
    results,
    tables: all.length > 0 ? all : (source?.tables.get(main) ?? []),
    geometry: source?.geometry ?? null,
  });
}
