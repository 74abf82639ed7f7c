import { findFilterPassband, findPixelPassband } from "../colour/channel-wavelengths.ts";
import { compareHalos } from "../colour/compare-halos.ts";
import type { ChannelLean } from "../colour/list-shift-stars.ts";
import { makeEdge } from "../colour/make-edge.ts";
import { type ColourInput, type ColourRequest, measureColour } from "../colour/measure-colour.ts";
import { findGeometry, isFault } from "../field/find-geometry.ts";
import { locateOnSensor, type SensorGeometry } from "../field/geometry.ts";
import type { SweepResults } from "../field/sweep.ts";
import { makeUnknown } from "../maths/quantity.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import type { TestEntry, TrainEntry } from "../records/types.ts";
import type { FrameMeasurement } from "../stars/frame-measurement.ts";
import { chooseMainChannel } from "./choose-main-channel.ts";
import type { ColourCrop, ColourResults } from "./colour-results.ts";
import type { EdgeResults } from "./edge-results.ts";
import type { TestResults } from "./results.ts";
import { chooseInFocus } from "./series.ts";

/** A finished test with what its colour is measured from. */
export interface ColouredTest {
  test: TestEntry;
  measurement: TestMeasurement | null;
  results: TestResults;
  /** The focal surface of one channel's sweep; null without. */
  fitSweep: (channel: string) => SweepResults | null;
}

function listChannels(frames: readonly FrameMeasurement[]): string[] {
  return [...new Set(frames.flatMap((frame) => frame.channels.map(({ channel }) => channel)))];
}

function takeFrames({ test, measurement }: ColouredTest): FrameMeasurement[] {
  return chooseInFocus(measurement?.frames ?? [], test.record.focusOffsetUm);
}

function readTemperature({ test }: ColouredTest): number | null {
  const value = test.record.conditions.temperatureC;
  return typeof value === "number" && value > -60 && value < 60 ? value : null;
}

function describeSetting(
  train: TrainEntry,
  entry: ColouredTest,
): Omit<ColourRequest, "channels" | "from" | "tests"> | null {
  const [first] = takeFrames(entry);
  const found = first === undefined ? null : findGeometry(first, train.record.camera);
  if (found === null || isFault(found)) return null;
  const { scale, field } = entry.results;
  return {
    geometry: found.geometry,
    focalLengthMm: scale.focalLengthMm,
    apertureMm: train.record.telescope.apertureMm,
    obstructionMm: train.record.telescope.obstructionMm,
    arcsecPerPx: scale.arcsecPerPx,
    seeing: field?.seeing ?? makeUnknown("arcsec", "No field model tells the night’s share."),
    temperatureC: readTemperature(entry),
    zenithAngleDeg: entry.test.record.zenithAngleDeg,
  };
}

/** Where the light of one frame's stars lies from their fitted places in a channel; null where it was not measured. */
function findLean(
  { measurement }: ColouredTest,
  frame: FrameMeasurement,
  channel: string,
): ChannelLean | null {
  const lean = measurement?.colour?.leans[measurement.frames.indexOf(frame)];
  const own = lean?.channels[channel];
  return lean == null || own === undefined ? null : { xPx: lean.xPx, yPx: lean.yPx, ...own };
}

/** The colours of a filter array's pixels, each frame's planes taken together. */
function measurePixels(train: TrainEntry, entry: ColouredTest, names: string[]): ColourResults | null {
  const setting = describeSetting(train, entry);
  if (setting === null) return null;
  const { results } = entry;
  const frames = takeFrames(entry).filter(({ channels }) =>
    names.every((name) => channels.some(({ channel }) => channel === name)),
  );
  const channels = names.map((name): ColourInput => {
    const isMain = name === results.channel;
    return {
      name,
      passband: findPixelPassband(name, train.record.camera.coloursNm),
      tables: frames.flatMap((frame) =>
        frame.channels.filter(({ channel }) => channel === name).map(({ stars }) => stars),
      ),
      zones: isMain ? results.zones : (results.channelZones[name] ?? null),
      sweep: isMain ? results.sweep : entry.fitSweep(name),
      leans: frames.map((frame) => findLean(entry, frame, name)),
      altitudeDeg: results.record.altitudeDeg,
    };
  });
  const colour = measureColour({ ...setting, from: "pixels", tests: [results.id], channels });
  if (colour === null) return null;
  return { ...colour, ...readPixels(entry, colour.reference, setting.geometry) };
}

/** Place of the channel's star nearest to a pixel, from that pixel; none farther than three px. */
function findPlace(frame: FrameMeasurement | undefined, name: string, xPx: number, yPx: number) {
  const stars = frame?.channels.find(({ channel }) => channel === name)?.stars;
  let nearest = { dxPx: Number.NaN, dyPx: Number.NaN };
  let distance = 3;
  for (let row = 0; stars !== undefined && row < stars.flags.length; row++) {
    const [dxPx, dyPx] = [stars.xPx[row] - xPx, stars.yPx[row] - yPx];
    if (Math.hypot(dxPx, dyPx) < distance) {
      distance = Math.hypot(dxPx, dyPx);
      nearest = { dxPx, dyPx };
    }
  }
  return distance < 3 ? nearest : { dxPx: null, dyPx: null };
}

/** Halos and cut-outs, which were measured in the pixels. */
function readPixels(
  { measurement }: ColouredTest,
  reference: string,
  geometry: SensorGeometry,
): Pick<ColourResults, "halo" | "crops"> {
  const pixels = measurement?.colour;
  if (pixels === undefined) return { halo: null, crops: null };
  const crops = pixels.crops.map(({ place, channel, file, sidePx, xPx, yPx }): ColourCrop => {
    const { x, y } = locateOnSensor(geometry, xPx, yPx);
    const found = findPlace(measurement?.frames[0], channel, xPx, yPx);
    return { place, channel, file, sidePx, rMm: Math.hypot(x, y), xMm: x, yMm: y, ...found };
  });
  return {
    halo: compareHalos(pixels.halos, reference, geometry.umPerPx),
    crops: crops.length === 0 ? null : crops,
  };
}

/** The Moon's limb of a test; null where the record names none or nothing was measured. */
function measureLimb(
  train: TrainEntry,
  entry: ColouredTest,
  colour: ColourResults | null,
): EdgeResults | null {
  const measurement = entry.measurement?.edge;
  if (measurement === undefined || measurement.frames.length === 0) return null;
  const geometries: SensorGeometry[] = [];
  for (const { file, widthPx, heightPx, binning, cropOriginPx } of measurement.frames) {
    const header = { binning, cropOriginPx };
    const found = findGeometry({ file, widthPx, heightPx, header }, train.record.camera);
    if (isFault(found)) return null;
    geometries.push(found.geometry);
  }
  const names = measurement.frames.flatMap(({ stretches }) => Object.keys(stretches[0]?.channels ?? {}));
  const reference = colour?.reference ?? chooseMainChannel(names);
  const { focalLengthMm } = entry.results.scale;
  return makeEdge({ measurement, geometries, reference, focalLengthMm, colour });
}

/** What must agree for tests through different filters to be of one state of the train. */
function nameState({ test, results }: ColouredTest): string {
  const { spacersMm, cameraAngleDeg } = test.record;
  return JSON.stringify([results.date, spacersMm, cameraAngleDeg, results.scale.umPerPx]);
}

function nameFilter({ results }: ColouredTest): string | null {
  return results.record.filter?.trim() || null;
}

/** Tests of one evening and one state of the train whose frames have one channel, by different filters; each filter once. */
function groupByFilter(entries: readonly ColouredTest[]): ColouredTest[][] {
  const groups = new Map<string, Map<string, ColouredTest>>();
  for (const entry of entries) {
    const filter = nameFilter(entry);
    const frames = takeFrames(entry);
    if (filter === null || frames.length === 0 || listChannels(frames).length !== 1) continue;
    const state = nameState(entry);
    const group = groups.get(state) ?? new Map<string, ColouredTest>();
    if (!group.has(filter.toLowerCase())) group.set(filter.toLowerCase(), entry);
    groups.set(state, group);
  }
  return [...groups.values()].map((group) => [...group.values()]).filter((group) => group.length > 1);
}

function measureFilters(train: TrainEntry, group: readonly ColouredTest[]): ColourResults | null {
  const channels = group.map((entry): ColourInput => {
    const name = nameFilter(entry) ?? "";
    return {
      name,
      passband: findFilterPassband(name, entry.test.record.filter?.wavelengthNm),
      tables: takeFrames(entry).map((frame) => frame.channels[0].stars),
      leans: takeFrames(entry).map((frame) => findLean(entry, frame, frame.channels[0].channel)),
      zones: entry.results.zones,
      sweep: entry.results.sweep,
      altitudeDeg: entry.results.record.altitudeDeg,
    };
  });
  const setting = describeSetting(train, group[0]);
  if (setting === null) return null;
  const tests = group.map(({ results }) => results.id);
  return measureColour({ ...setting, from: "filters", tests, channels });
}

/**
 * Puts `colour` into the tests of a train: of each test whose frames have several channels, and of tests of one evening, one
 * state of the train and different filters, which share one. Null elsewhere.
 */
export function stageColour(train: TrainEntry, entries: readonly ColouredTest[]): TestResults[] {
  const shared = new Map<string, ColourResults>();
  for (const group of groupByFilter(entries)) {
    const colour = measureFilters(train, group);
    if (colour !== null) for (const { results } of group) shared.set(results.id, colour);
  }
  const colours = entries.map((entry) => {
    const names = listChannels(takeFrames(entry));
    return names.length > 1 ? measurePixels(train, entry, names) : (shared.get(entry.results.id) ?? null);
  });
  // Lateral colour belongs to the optics: a night of the Moon alone is held against the latest night with stars.
  const latest = colours.findLast((colour) => colour !== null) ?? null;
  return entries.map((entry, k) => {
    const edge = measureLimb(train, entry, colours[k] ?? latest);
    const isAsked = entry.test.record.edge !== null;
    return { ...entry.results, colour: colours[k], ...(isAsked ? { edge } : {}) };
  });
}
