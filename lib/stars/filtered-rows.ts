import { makeFilterKernel } from "./filter-kernel.ts";
import { makeRowWeights } from "./filter-weights.ts";
import { loadGridRow } from "./load-grid-row.ts";
import type { FilterGrid } from "./matched-filter.ts";
import { fillMeshRow } from "./mesh-map.ts";
import type { MeshMap } from "./plane-measurement.ts";
import type { SamplePlane } from "./samples.ts";

/** Missing samples are made good where at least this part of the kernel's power is left. */
const LEAST_POWER = 0.25;

/** The sky is interpolated afresh every so many rows, and in a straight line between. */
const SKY_ROWS = 8;

/** A map seen from the grid of blocks. */
export function mapOntoGrid(map: MeshMap, binPx: number): MeshMap {
  return { ...map, cellPx: map.cellPx / binPx };
}

export interface FilteredRows {
  /** Filters the next row. */
  advance(): void;
  /**
   * Answer of the matched filter along one of the last `depth` rows: sky removed, scaled so that its noise is that of one
   * grid sample whatever the site, the frame's edge or missing samples take from the kernel. -Infinity where too little
   * is left, and in rows outside the frame.
   */
  at(row: number): Float32Array;
  /** To be filled by the caller: what `listGroups` compares with. */
  threshold: Float32Array;
  /** First columns of the groups of four in which the row exceeds the threshold somewhere. */
  listGroups(row: number): Int32Array;
}

/** Addresses of equal, aligned stretches of the kernel's memory. */
function planMemory(columns: number, radius: number, depth: number) {
  // Loops go on in eights and a group more is read past the end.
  const rowBytes = 4 * (8 * Math.ceil((columns + 2 * radius) / 8) + 16);
  let next = 0;
  const take = () => rowBytes * next++;
  const takeMany = (n: number) => Array.from({ length: n }, take);
  return {
    rowBytes,
    raw: take(),
    ring: takeMany(2 * radius + 1),
    column: take(),
    sky: take(),
    slope: take(),
    threshold: take(),
    list: take(),
    table: take(),
    weights: take(),
    // Sum and gain of inner rows of either parity, and of a row at the edge.
    sums: takeMany(3),
    gains: takeMany(3),
    kept: takeMany(depth),
    bytes: rowBytes * next,
  };
}

/** Filters a plane row by row from `firstRow` of the grid on, holding the rows under the kernel and the last `depth`. */
export function makeFilteredRows(
  plane: SamplePlane,
  grid: FilterGrid,
  background: MeshMap,
  firstRow: number,
  depth: number,
): FilteredRows {
  const { columns } = grid;
  const { radius, half } = grid.kernel;
  const plan = planMemory(columns, radius, Math.max(depth, 1));
  const kernel = makeFilterKernel(plan.bytes);
  const floats = new Float32Array(kernel.memory.buffer);
  const words = new Int32Array(kernel.memory.buffer);
  const view = (address: number, length = columns) => floats.subarray(address / 4, address / 4 + length);
  const paddedColumns = 8 * Math.ceil(columns / 8);
  // Single precision is spent on differences from the sky, not on its level.
  const pedestal = Math.round(background.values.toSorted()[background.values.length >> 1]);
  const onGrid = mapOntoGrid(background, grid.binPx);
  const skyMap = { ...onGrid, values: onGrid.values.map((value) => value - pedestal) };
  const sky = view(plan.sky);
  const slope = view(plan.slope);
  let skyBlock = Number.NaN;
  function placeSky(row: number): number {
    const block = Math.floor(row / SKY_ROWS);
    if (block !== skyBlock) {
      skyBlock = block;
      fillMeshRow(skyMap, block * SKY_ROWS, sky);
      fillMeshRow(skyMap, (block + 1) * SKY_ROWS, slope);
      for (let x = 0; x < columns; x++) slope[x] -= sky[x];
    }
    return (row - block * SKY_ROWS) / SKY_ROWS;
  }

  const weightsEnd = plan.weights + 4 * (radius + 1);
  floats.set(half, plan.weights / 4);
  floats.fill(Number.POSITIVE_INFINITY, plan.threshold / 4, plan.threshold / 4 + paddedColumns);
  const ringRow = (row: number) =>
    plan.ring[(((row - firstRow) % plan.ring.length) + plan.ring.length) % plan.ring.length];
  const keptRow = (row: number) =>
    plan.kept[(((row - firstRow) % plan.kept.length) + plan.kept.length) % plan.kept.length];
  const wholeRows =
    plane.samples instanceof Uint16Array && grid.binPx === 1 && grid.sites.every(Boolean)
      ? plane.samples
      : null;
  const raw = new Uint16Array(kernel.memory.buffer, plan.raw, columns);

  function load(row: number): void {
    const address = ringRow(row);
    if (row < 0 || row >= grid.rows) view(address, columns + 2 * radius).fill(0);
    else if (wholeRows !== null) {
      raw.set(wholeRows.subarray(row * plane.widthPx, row * plane.widthPx + columns));
      const to = address + 4 * radius;
      kernel.widen(plan.raw, to, to + 4 * columns, pedestal);
      // The loop goes on in eights: what it wrote past the last column is outside the frame.
      floats.fill(0, to / 4 + columns, to / 4 + columns + 8);
    } else loadGridRow(plane, grid, row, pedestal, floats, address / 4 + radius);
  }

  const weightsOf = makeRowWeights(grid);
  const loaded = [false, false];
  /** Which of the three stretches holds the weights of a row; filled where need be. */
  function placeWeights(row: number): number {
    const inner = row >= radius && row < grid.rows - radius;
    const slot = inner ? row & 1 : 2;
    if (inner && loaded[slot]) return slot;
    const { sum, gain } = weightsOf(row);
    floats.set(sum, plan.sums[slot] / 4);
    floats.set(gain, plan.gains[slot] / 4);
    if (inner) loaded[slot] = true;
    return slot;
  }

  for (let row = firstRow - radius; row < firstRow + radius; row++) load(row);
  let next = firstRow;
  return {
    threshold: view(plan.threshold),
    at: (row) => view(keptRow(row)),
    listGroups(row) {
      const end = kernel.findAbove(keptRow(row), plan.threshold, 4 * paddedColumns, plan.list);
      return words.slice(plan.list / 4, end / 4).map((offset) => offset / 4);
    },
    advance() {
      const row = next++;
      load(row + radius);
      const out = view(keptRow(row));
      if (row < 0 || row >= grid.rows) {
        out.fill(Number.NEGATIVE_INFINITY);
        return;
      }
      words[plan.table / 4] = ringRow(row);
      for (let d = 1; d <= radius; d++) {
        words[plan.table / 4 + 2 * d - 1] = ringRow(row - d);
        words[plan.table / 4 + 2 * d] = ringRow(row + d);
      }
      kernel.sumRows(plan.table, plan.weights, weightsEnd, plan.column, 4 * (columns + 2 * radius));
      const way = placeSky(row);
      const slot = placeWeights(row);
      kernel.sumColumns(
        plan.column + 4 * radius,
        plan.weights,
        weightsEnd,
        keptRow(row),
        4 * columns,
        plan.sky,
        plan.slope,
        way,
        plan.sums[slot],
        plan.gains[slot],
      );
      // Whole numbers are never missing.
      if (plane.samples instanceof Uint16Array || !hasGaps(out)) return;
      const under = Array.from({ length: 2 * radius + 1 }, (_, d) =>
        view(ringRow(row - radius + d), columns + 2 * radius),
      );
      mendRow(
        under,
        grid,
        row,
        sky.map((value, x) => value + way * slope[x]),
        out,
      );
    },
  };
}

function hasGaps(row: Float32Array): boolean {
  for (let x = 0; x < row.length; x++) if (Number.isNaN(row[x])) return true;
  return false;
}

/** Where a missing or infinite sample spoiled the sum, sums again over those at hand. */
function mendRow(
  rows: readonly Float32Array[],
  grid: FilterGrid,
  row: number,
  sky: Float32Array,
  out: Float32Array,
): void {
  const { radius, half } = grid.kernel;
  const { columns, sites } = grid;
  for (let x = 0; x < columns; x++) {
    if (!Number.isNaN(out[x])) continue;
    let sum = 0;
    let power = 0;
    let whole = 0;
    for (let dy = -radius; dy <= radius; dy++) {
      const y = row + dy;
      if (y < 0 || y >= grid.rows) continue;
      const samples = rows[dy + radius];
      for (let dx = -radius; dx <= radius; dx++) {
        const at = x + dx;
        if (at < 0 || at >= columns || !sites[(at & 1) + 2 * (y & 1)]) continue;
        const weight = half[Math.abs(dy)] * half[Math.abs(dx)];
        whole += weight * weight;
        const value = samples[at + radius];
        if (Number.isNaN(value)) continue;
        sum += weight * (value - sky[x]);
        power += weight * weight;
      }
    }
    out[x] = power >= LEAST_POWER * whole && power > 0 ? sum / Math.sqrt(power) : Number.NEGATIVE_INFINITY;
  }
}
