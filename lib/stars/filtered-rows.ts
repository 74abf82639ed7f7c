import { makeRowWeights } from "./filter-weights.ts";
import { type FilterGrid, loadGridRow, sumColumns, sumRows } from "./matched-filter.ts";
import { fillMeshRow } from "./mesh-map.ts";
import type { MeshMap } from "./plane-measurement.ts";
import type { SamplePlane } from "./samples.ts";

/** Missing samples are made good where at least this part of the kernel's power is left. */
const LEAST_POWER = 0.25;

/** A map seen from the grid of blocks. */
export function mapOntoGrid(map: MeshMap, binPx: number): MeshMap {
  return { ...map, cellPx: map.cellPx / binPx };
}

/**
 * Gives the filtered rows of a plane one after the other, holding only the rows under the kernel: answer of the matched
 * filter, sky removed, scaled so that its noise is that of one grid sample whatever the site, the frame's edge or
 * missing samples take from the kernel. -Infinity where too little is left.
 */
export function makeFilteredRows(
  plane: SamplePlane,
  grid: FilterGrid,
  background: MeshMap,
  firstRow: number,
) {
  const { radius, half } = grid.kernel;
  const { columns } = grid;
  const depth = 2 * radius + 1;
  const ring = Array.from({ length: depth }, () => new Float32Array(columns + 2 * radius));
  const ordered = ring.slice();
  const sky = new Float32Array(columns);
  const column = new Float32Array(columns + 2 * radius);
  const weightsOf = makeRowWeights(grid);
  const skyMap = mapOntoGrid(background, grid.binPx);
  const slot = (row: number) => ring[(((row - firstRow + radius) % depth) + depth) % depth];
  for (let row = firstRow - radius; row < firstRow + radius; row++) loadGridRow(plane, grid, row, slot(row));
  let next = firstRow;

  /** Writes the next row to `out`. */
  return (out: Float32Array): void => {
    const row = next++;
    loadGridRow(plane, grid, row + radius, slot(row + radius));
    for (let d = 0; d < depth; d++) ordered[d] = slot(row - radius + d);
    sumRows(ordered, half, columns + 2 * radius, column);
    sumColumns(column, half, columns, out);
    fillMeshRow(skyMap, row, sky);
    const { sum, gain } = weightsOf(row);
    let broken = 0;
    for (let x = 0; x < columns; x++) {
      const value = (out[x] - sky[x] * sum[x]) * gain[x];
      out[x] = value;
      if (value - value !== 0) broken++;
    }
    if (broken > 0) mendRow(ordered, grid, row, sky, out);
  };
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
    if (out[x] - out[x] === 0) continue;
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
        if (value - value !== 0) continue;
        sum += weight * (value - sky[x]);
        power += weight * weight;
      }
    }
    out[x] = power >= LEAST_POWER * whole && power > 0 ? sum / Math.sqrt(power) : Number.NEGATIVE_INFINITY;
  }
}
