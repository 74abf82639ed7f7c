import type { Fault } from "../fault.ts";
import type { Frame } from "../frames/frame.ts";
import { findFlatFault, findZeroFault } from "./find-flat-faults.ts";
import type { FlatFile } from "./flat-measurement.ts";
import { measurePair, type PairStatistics } from "./photon-transfer.ts";
import { type CellGrid, makeCellGrid, reduceCells } from "./reduce-cells.ts";

/** What is kept of one colour plane of the frames seen so far: cells and statistics of pairs, no samples. */
export interface GatheredPlane {
  /** The flats' filter as their headers name it, and the plane. */
  filter: string | null;
  channel: string;
  /** Cells of each flat, zero not yet taken off, and the file it came from. */
  flats: { file: string; cells: Float64Array; saturatedShare: number }[];
  leftOut: number;
  pixels: number;
  flatPairs: PairStatistics[];
}

export interface GatheredZero {
  channel: string;
  cells: Float64Array[];
  pairs: PairStatistics[];
}

export interface GatheredFlats {
  grid: CellGrid;
  /** The first flat without its samples: size and header. */
  first: Omit<Frame, "planes">;
  saturationAdu: number | null;
  /** Whole numbers, as a converter delivers them. */
  rounded: boolean;
  planes: GatheredPlane[];
  zeros: GatheredZero[];
  files: FlatFile[];
  /** Exposure times of what stands under `bias`, and whether all of them are darks. */
  zeroExposuresS: (number | null)[];
  zerosAreDarks: boolean;
  warnings: string[];
}

/** Takes frames one at a time, so that twenty flats of 26 megapixels never stand in memory together; two do, for a pair. */
export interface FlatGatherer {
  addFlat: (frame: Frame) => Fault | null;
  addZero: (frame: Frame) => Fault | null;
  /** Null where no flat was taken. */
  finish: () => GatheredFlats | null;
}

/** Flats beyond this many add nothing that matters to a mean and are not read into it (chosen). */
export const mostFlats = 60;

export function makeFlatGatherer(saturationOnRecord: number | null): FlatGatherer {
  let grid: CellGrid | null = null;
  let first: Frame | null = null;
  let saturationAdu: number | null = null;
  const planes = new Map<string, GatheredPlane>();
  const zeros = new Map<string, GatheredZero>();
  const files: FlatFile[] = [];
  const warnings: string[] = [];
  const zeroExposuresS: (number | null)[] = [];
  let zerosAreDarks = true;
  /** The frame that waits for the second of its pair. */
  let waiting: { name: string; frame: Frame } | null = null;

  function pair(name: string, frame: Frame, keep: (channel: string, statistics: PairStatistics) => void) {
    const before = waiting;
    if (before === null || before.name !== name || grid === null) {
      waiting = { name, frame };
      return;
    }
    for (const [k, plane] of frame.planes.entries()) {
      const statistics = measurePair(before.frame.planes[k].samples, plane.samples, plane.sites, grid);
      if (statistics !== null) keep(plane.channel, statistics);
    }
    waiting = null;
  }

  function note(frame: Frame, role: FlatFile["role"]): void {
    const { exposureS, filter } = frame.header;
    files.push({ file: frame.file, sha256: frame.sha256, role, exposureS, filter });
    warnings.push(...frame.warnings.filter((warning) => !warnings.includes(warning)));
  }

  function addFlat(frame: Frame): Fault | null {
    const fault = findFlatFault(frame, first ?? frame);
    if (fault !== null) return fault;
    if (first === null) {
      first = { ...frame, planes: frame.planes.map((plane) => ({ ...plane, samples: new Uint16Array(0) })) };
      grid = makeCellGrid(frame.widthPx, frame.heightPx);
      saturationAdu = saturationOnRecord ?? frame.header.saturationAdu ?? frame.fullScaleAdu;
    }
    const cellGrid = grid ?? makeCellGrid(frame.widthPx, frame.heightPx);
    note(frame, "flat");
    const { filter } = frame.header;
    for (const { channel, samples, sites } of frame.planes) {
      const name = `${filter ?? ""}\n${channel}`;
      const plane = planes.get(name) ?? {
        filter,
        channel,
        flats: [],
        leftOut: 0,
        pixels: 0,
        flatPairs: [],
      };
      planes.set(name, plane);
      const cells = reduceCells(samples, sites, cellGrid, saturationAdu);
      plane.leftOut += cells.leftOut;
      plane.pixels += cells.pixels;
      const saturatedShare = cells.pixels === 0 ? 0 : cells.saturated / cells.pixels;
      plane.flats.push({ file: frame.file, cells: cells.mean, saturatedShare });
    }
    pair(`flat ${filter ?? ""}`, frame, (channel, statistics) =>
      planes.get(`${filter ?? ""}\n${channel}`)?.flatPairs.push(statistics),
    );
    return null;
  }

  function addZero(frame: Frame): Fault | null {
    const fault = first === null ? null : findZeroFault(frame, first);
    if (fault !== null || grid === null) return fault;
    note(frame, "zero");
    zeroExposuresS.push(frame.header.exposureS);
    if (frame.header.kind !== "dark") zerosAreDarks = false;
    for (const { channel, samples, sites } of frame.planes) {
      const zero = zeros.get(channel) ?? { channel, cells: [], pairs: [] };
      zeros.set(channel, zero);
      zero.cells.push(reduceCells(samples, sites, grid, null).mean);
    }
    pair("zero", frame, (channel, statistics) => zeros.get(channel)?.pairs.push(statistics));
    return null;
  }

  return {
    addFlat,
    addZero,
    finish() {
      if (first === null || grid === null) return null;
      const { planes: kept, ...head } = first;
      return {
        grid,
        first: head,
        saturationAdu,
        rounded: head.fullScaleAdu !== null && kept.length > 0,
        planes: [...planes.values()],
        zeros: [...zeros.values()],
        files,
        zeroExposuresS,
        zerosAreDarks: zerosAreDarks && zeroExposuresS.length > 0,
        warnings,
      };
    },
  };
}
