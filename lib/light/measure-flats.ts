import type { Fault } from "../fault.ts";
import type { SensorGeometry } from "../field/geometry.ts";
import { type CameraMatch, matchFrameToCamera } from "../frames/match-camera.ts";
import { median } from "../maths/statistics.ts";
import type { Camera } from "../records/types.ts";
import { averageCells } from "./average-cells.ts";
import { choosePedestal, judgeDarkFlats, type Pedestal } from "./choose-zero.ts";
import { judgeExposure } from "./find-flat-faults.ts";
import type { FlatChannel, FlatsMeasurement } from "./flat-measurement.ts";
import type { GatheredFlats, GatheredPlane, GatheredZero } from "./gather-flats.ts";
import { measureLight } from "./measure-light.ts";
import { combinePairs } from "./photon-transfer.ts";

/** Where the flats' pixels lie on the sensor. */
export function placeFrame(
  first: GatheredFlats["first"],
  camera: Camera,
  match: CameraMatch,
): SensorGeometry {
  const mm = camera.pixelPitchUm / 1000;
  const { binning } = match;
  return {
    widthPx: first.widthPx,
    heightPx: first.heightPx,
    umPerPx: match.umPerPx,
    offsetMm: {
      x: (match.offsetXPx + (first.widthPx * binning) / 2 - camera.widthPx / 2) * mm,
      y: -(match.offsetYPx + (first.heightPx * binning) / 2 - camera.heightPx / 2) * mm,
    },
    sensorWidthMm: camera.widthPx * mm,
    sensorHeightMm: camera.heightPx * mm,
  };
}

/**
 * The light of one test's flats from what was gathered of its frames: zero level off, exposure judged, frames averaged,
 * a smooth map fitted for each colour plane or filter, and gain and read noise from pairs.
 * All faults at once; nothing is measured where there is one.
 */
export function measureFlats(
  gathered: GatheredFlats,
  camera: Camera,
  key: string,
): { flats: FlatsMeasurement; faults: [] } | { flats: null; faults: Fault[] } {
  const faults: Fault[] = [];
  const warnings = [...gathered.warnings];
  const match = matchFrameToCamera({ ...gathered.first, format: gathered.first.format }, camera);
  if ("code" in match) return { flats: null, faults: [match] };
  warnings.push(...match.warnings);
  const pedestal =
    gathered.zeros.length > 0
      ? null
      : choosePedestal(camera.biasAdu, gathered.first.header.keywords, gathered.first.file);
  if (pedestal !== null && "code" in pedestal) return { flats: null, faults: [pedestal] };
  warnings.push(...describeZero(gathered, pedestal));
  const seen = new Set<string>();
  const ready = gathered.planes.map((plane) => {
    const zero = gathered.zeros.find(({ channel }) => channel === plane.channel);
    const off = averageZero(zero, gathered.grid.columns * gathered.grid.rows, pedestal?.adu ?? 0);
    const frames = plane.flats.map(({ cells }) => cells.map((value, k) => value - off[k]));
    const average = averageCells(frames, gathered.grid);
    plane.flats.forEach(({ file, saturatedShare }, f) => {
      const exposure = { channel: plane.channel, levelAdu: average.levels[f], saturatedShare };
      const judged = judgeExposure(file, [exposure], gathered.saturationAdu);
      for (const fault of judged.faults) if (!seen.has(file)) faults.push(fault);
      if (judged.faults.length > 0) seen.add(file);
      warnings.push(...judged.warnings);
    });
    return { plane, zero, frames, average, zeroLevel: median(off) };
  });
  if (faults.length > 0) return { flats: null, faults };
  const geometry = placeFrame(gathered.first, camera, match);
  const filters = new Set(gathered.planes.map(({ filter }) => filter));
  const channels = ready.map(({ plane, zero, frames, average, zeroLevel }): FlatChannel => {
    const light = measureLight({ frames, average, grid: gathered.grid, geometry });
    const level = median(average.levels) * light.brightestOverMiddle;
    return {
      channel: nameChannel(plane, filters.size > 1),
      frames: frames.length,
      levelAdu: level,
      levelShare: gathered.saturationAdu === null ? null : level / gathered.saturationAdu,
      ...light.channel,
      masked: {
        ...light.masked,
        pixelPercent: (100 * plane.leftOut) / Math.max(1, plane.pixels),
        starCells: average.starCells,
      },
      transfer: measureTransfer(plane, zero, zeroLevel, gathered.rounded),
    };
  });
  const zeroAdu = median(ready.map(({ zeroLevel }) => zeroLevel));
  return {
    flats: {
      key,
      files: gathered.files,
      widthPx: gathered.first.widthPx,
      heightPx: gathered.first.heightPx,
      binning: match.binning,
      zero: { from: pedestal?.from ?? (gathered.zerosAreDarks ? "darkFlats" : "bias"), adu: zeroAdu },
      channels,
      warnings,
    },
    faults: [],
  };
}

/** "L", "R", "G", "B", or the filter's name where the flats were taken through several. */
function nameChannel({ filter, channel }: GatheredPlane, several: boolean): string {
  if (!several) return channel;
  const name = filter ?? "no filter";
  return channel === "L" ? name : `${name} ${channel}`;
}

function describeZero(gathered: GatheredFlats, pedestal: Pedestal | null): string[] {
  if (pedestal !== null) {
    const where = pedestal.from === "record" ? "the camera's record" : "the flats' header";
    return [
      `No bias frames: ${pedestal.adu} ADU, from ${where}, was taken off the flats. One percent of error in it, counted in the light, shows in the corners as one percent.`,
    ];
  }
  const apart = gathered.zerosAreDarks
    ? judgeDarkFlats(
        gathered.zeroExposuresS,
        gathered.files.flatMap(({ role, exposureS }) => (role === "flat" ? [exposureS] : [])),
      )
    : null;
  return apart === null ? [] : [apart];
}

/** Mean of the zero frames, cell by cell (the median of three and more, which a struck frame does not move). */
function averageZero(zero: GatheredZero | undefined, cells: number, pedestalAdu: number): Float64Array {
  if (zero === undefined || zero.cells.length === 0) return new Float64Array(cells).fill(pedestalAdu);
  return Float64Array.from({ length: cells }, (_, k) => {
    const values = zero.cells.map((list) => list[k]);
    return values.length < 3 ? values.reduce((sum, value) => sum + value, 0) / values.length : median(values);
  });
}

function measureTransfer(
  plane: GatheredPlane,
  zero: GatheredZero | undefined,
  zeroLevel: number,
  rounded: boolean,
): FlatChannel["transfer"] {
  const biases = zero?.pairs ?? [];
  const combined = combinePairs(plane.flatPairs, biases, 2 * zeroLevel, rounded);
  if (combined === null) return null;
  return {
    gainElectronsPerAdu: combined.gain,
    readNoiseElectrons: combined.readNoise,
    flatPairs: plane.flatPairs.length,
    biasPairs: biases.length,
  };
}
