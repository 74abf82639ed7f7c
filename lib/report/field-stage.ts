import { ReportError } from "../fault.ts";
import { diagnose } from "../field/diagnose.ts";
import { FIELD_SEED, findWavelengthUm, makeFieldOptics } from "../field/field-optics.ts";
import { makeFieldResults } from "../field/field-results.ts";
import { findGeometry, isFault } from "../field/find-geometry.ts";
import { type FieldFit, fitField, type RadialMeans } from "../field/fit-field.ts";
import { type FoldedField, foldField } from "../field/fold-field.ts";
import type { SensorGeometry } from "../field/geometry.ts";
import { computeMoves } from "../field/moves.ts";
import { orientFields } from "../field/orient-fields.ts";
import { computeShims } from "../field/shims.ts";
import { fitSweep } from "../field/sweep.ts";
import { readSweepPositions } from "../field/sweep-positions.ts";
import { recall } from "../maths/remember.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import type { TestEntry, TrainEntry } from "../records/types.ts";
import type { StarTable } from "../stars/star-table.ts";
import type { TestResults } from "./results.ts";

/** A test with its focal surface fitted, its signs still open; `finishField` closes them. */
export interface StagedTest {
  results: TestResults;
  fit: FieldFit | null;
}

interface StageRequest {
  train: TrainEntry;
  test: TestEntry;
  measurement: TestMeasurement | null;
  results: TestResults;
  /** Main channel of each frame, in the order of the record's focus offsets; none without frames or table. */
  tables: readonly StarTable[];
  geometry: SensorGeometry | null;
}

function readFocalRatio({ train, results }: Pick<StageRequest, "train" | "results">): number {
  return results.scale.focalLengthMm / train.record.telescope.apertureMm;
}

function readObstruction({ train }: Pick<StageRequest, "train">): number {
  return train.record.telescope.obstructionMm / train.record.telescope.apertureMm;
}

/**
 * Fits the field model to a test's frames and the focal surface to its sweep. What a single night cannot tell stays
 * open: `folded` holds the surface up to a sign for the ledger.
 */
export function stageField(request: StageRequest): StagedTest {
  const { results, tables, geometry, test, train } = request;
  const { sweep, warnings } = stageSweep(request);
  const offsets = test.record.focusOffsetUm;
  const optics =
    geometry === null ? null : makeFieldOptics(train.record, test.record, results.scale, geometry);
  const frames = tables.map((stars, k) => ({
    stars,
    focusOffsetUm: typeof offsets === "number" ? offsets : (offsets[k] ?? 0),
  }));
  const fit = optics === null || frames.length === 0 ? null : fitField(frames, optics, { seed: FIELD_SEED });
  const fitted = fit !== null && "draws" in fit ? fit : null;
  const why = fit !== null && "why" in fit ? [`Field model: ${fit.why}`] : [];
  return {
    results: {
      ...results,
      sweep,
      folded: fitted === null ? null : foldSurface(fitted),
      warnings: [...results.warnings, ...warnings, ...why],
    },
    fit: fitted,
  };
}

/** Frames at known focus offsets tell the sign by themselves; a rule on record does not count against the ledger. */
function foldSurface(fit: FieldFit): FoldedField {
  return foldField(fit, fit.hasOffsets && orientFields(fit).rule === null && orientFields(fit).signKnown);
}

type StagedSweep = Pick<ReturnType<typeof fitSweep>, "sweep" | "warnings">;

/** The focal surface of one channel's sweep; the test's own channel where none is named. */
export function stageSweep(
  request: Pick<StageRequest, "train" | "test" | "measurement" | "results">,
  channel = request.results.channel,
): StagedSweep {
  const { train, test, measurement } = request;
  const asked = test.record.sweep;
  if (asked === null) return { sweep: null, warnings: [] };
  const frames = measurement?.sweep ?? [];
  if (frames.length === 0)
    return { sweep: null, warnings: ["The frames of the focus sweep are not measured yet."] };
  const places = readSweepPositions({
    positions: asked.positions,
    umPerStep: asked.umPerStep,
    frames: frames.map(({ file, header }) => ({ file, asked: header.asked })),
    recordFile: test.source.file,
  });
  if ("faults" in places) throw new ReportError(places.faults);
  const found = findGeometry(frames[0], train.record.camera);
  if (isFault(found)) throw new ReportError([found]);
  const listed = frames.map((frame, k) => ({
    file: frame.file,
    taken: frame.header.dateObs ?? "",
    positionUm: places.positionsUm[k],
    stars: (frame.channels.find((part) => part.channel === channel) ?? frame.channels[0]).stars,
  }));
  // In order of time where headers tell it, for the way the focuser went.
  const ordered = listed.every(({ taken }) => taken !== "")
    ? [...listed].sort((a, b) => (a.taken < b.taken ? -1 : a.taken > b.taken ? 1 : 0))
    : listed;
  return fitSweep({
    frames: ordered,
    geometry: found.geometry,
    focalRatio: readFocalRatio(request),
    obstruction: readObstruction(request),
    wavelengthUm: findWavelengthUm(test.record),
  });
}

/** Field, diagnosis and moves of a staged test; the ledger's finding on signs overrides the record's rule. */
export function finishField(
  staged: StagedTest,
  train: TrainEntry,
  ledgerRadialMeans: RadialMeans | null,
): TestResults {
  const { fit, results } = staged;
  const field =
    fit === null ? null : recall("field/field-results", makeFieldResults, fit, { ledgerRadialMeans });
  const diagnosis =
    fit === null
      ? null
      : diagnose(fit, {
          tolerances: train.record.tolerances,
          ledgerRadialMeans,
          sweep: results.sweep,
          seed: FIELD_SEED,
        });
  return { ...results, field, diagnosis, moves: stageMoves(train, { ...results, field }) };
}

function stageMoves(train: TrainEntry, results: TestResults): TestResults["moves"] {
  const { adjuster, telescope, tolerances } = train.record;
  const source = results.sweep ?? results.field;
  if (source === null) return null;
  const request = {
    tilt: {
      tiltX: source.tiltX,
      tiltY: source.tiltY,
      across: source.tiltAcross,
      signKnown: results.sweep !== null || results.field?.signKnown === true,
      from: results.sweep !== null ? ("sweep" as const) : ("field" as const),
    },
    sensor: results.sensor,
    allowedUm: tolerances.tiltAcrossUm,
    focalRatio: results.scale.focalLengthMm / telescope.apertureMm,
    obstruction: telescope.obstructionMm / telescope.apertureMm,
    widthUm: results.zones?.centre.fwhm.um.value ?? null,
  };
  return adjuster !== null && "screws" in adjuster
    ? computeMoves({ ...request, adjuster })
    : computeShims({ ...request, adjuster });
}
