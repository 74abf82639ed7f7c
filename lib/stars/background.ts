import { type CellStatistics, measureCell } from "./cell-statistics.ts";
import type { MeshMap } from "./plane-measurement.ts";
import type { SamplePlane } from "./samples.ts";
import { fillEmptyCells, recentreLastCells, replaceOutlierCells, smoothMesh } from "./smooth-mesh.ts";
import type { StarTask, StarTaskRunner } from "./star-task.ts";

export { fillMeshRow, sampleMesh } from "./mesh-map.ts";

/** A cell counts when at least this part of its sites holds values within the clip. */
const LEAST_USED = 0.2;
/** A cell quieter than this part of the frame's typical noise is blank or saturated: its noise is the neighbours'. */
const LEAST_NOISE = 0.25;

/** Cells that differ from their surroundings by less than so many sigmas of a pixel are never called outliers. */
const LEAST_LEVEL_STEP = 1;
const LEAST_NOISE_STEP = 0.1;

/**
 * Side of a mesh cell: 96 px, 64 px for frames under 1600 px on the short side, half as much again for one colour of a
 * filter array. Wide against the widest star (12 px), small against nebulosity and light fall-off; even, so that every
 * cell starts on the same site of a filter array.
 */
export function chooseCellPx(plane: SamplePlane): number {
  const side = Math.min(plane.widthPx, plane.heightPx) < 1600 ? 64 : 96;
  return plane.sites.every(Boolean) ? side : 1.5 * side;
}

/** Cells along one axis; what is left over, under half a cell, goes to the last one. */
function countCells(sizePx: number, cellPx: number): number {
  return Math.max(1, Math.round(sizePx / cellPx));
}

interface BackgroundBand {
  plane: SamplePlane;
  cellPx: number;
  /** Rows of the mesh [firstRow, endRow). */
  firstRow: number;
  endRow: number;
}

/** Level, noise (ADU) and number of values used of every cell of some mesh rows, row-major; NaN: no value in the cell. */
export const backgroundBandTask: StarTask<
  BackgroundBand,
  { level: Float32Array; sigma: Float32Array; used: Uint32Array }
> = {
  name: "backgroundBand",
  run({ plane, cellPx, firstRow, endRow }) {
    const columns = countCells(plane.widthPx, cellPx);
    const rows = countCells(plane.heightPx, cellPx);
    const level = new Float32Array(columns * (endRow - firstRow));
    const sigma = new Float32Array(level.length);
    const used = new Uint32Array(level.length);
    for (let row = firstRow; row < endRow; row++) {
      const y1 = row === rows - 1 ? plane.heightPx : (row + 1) * cellPx;
      for (let column = 0; column < columns; column++) {
        const x1 = column === columns - 1 ? plane.widthPx : (column + 1) * cellPx;
        const cell: CellStatistics = measureCell(plane, column * cellPx, x1, row * cellPx, y1);
        const i = (row - firstRow) * columns + column;
        level[i] = cell.level;
        sigma[i] = cell.sigma;
        used[i] = cell.used;
      }
    }
    return { level, sigma, used };
  },
};

function findTypical(values: Float32Array): number {
  const finite = values.filter((value) => Number.isFinite(value) && value > 0).sort();
  return finite.length > 0 ? finite[finite.length >> 1] : 0;
}

/** The noise of blank and saturated cells is lost; a floor keeps thresholds above 0 there. */
function liftQuietCells(map: MeshMap, typical: number): MeshMap {
  const values = map.values.map((value) => (value < LEAST_NOISE * typical ? Number.NaN : value));
  return { ...map, values };
}

/**
 * Background level and noise of one pixel (ADU) of a plane, on a mesh; the noise as the light of several pixels has it
 * (see `noiseFactor` of the plane). Cells with too few values (missing, covered by a
 * saturated blob) take their neighbours' values, as do cells that a single object has lifted.
 */
export async function estimateBackground(
  plane: SamplePlane,
  run: StarTaskRunner,
): Promise<{ background: MeshMap; noise: MeshMap }> {
  const cellPx = chooseCellPx(plane);
  const columns = countCells(plane.widthPx, cellPx);
  const rows = countCells(plane.heightPx, cellPx);
  const bandCount = Math.min(rows, 8);
  const jobs: BackgroundBand[] = [];
  for (let band = 0; band < bandCount; band++) {
    const firstRow = Math.floor((band * rows) / bandCount);
    jobs.push({ plane, cellPx, firstRow, endRow: Math.floor(((band + 1) * rows) / bandCount) });
  }
  const bands = await run(backgroundBandTask, jobs);
  const level = new Float32Array(columns * rows);
  const sigma = new Float32Array(columns * rows);
  const sitesInBlock = plane.sites.filter(Boolean).length;
  // Half of the rows are read of large cells.
  const least = LEAST_USED * cellPx * cellPx * (sitesInBlock / 4) * 0.5;
  for (let band = 0; band < bandCount; band++) {
    const offset = jobs[band].firstRow * columns;
    for (let i = 0; i < bands[band].level.length; i++) {
      // The last cells of small frames may be half as large.
      const enough = bands[band].used[i] >= least / 2;
      level[offset + i] = enough ? bands[band].level[i] : Number.NaN;
      sigma[offset + i] = enough ? bands[band].sigma[i] : Number.NaN;
    }
  }
  const mesh = { columns, rows, cellPx };
  const { widthPx, heightPx } = plane;
  const smooth = (map: MeshMap, leastStep: number) => {
    const whole = replaceOutlierCells(fillEmptyCells(map), leastStep);
    return recentreLastCells(smoothMesh(whole), widthPx, heightPx);
  };
  const typical = findTypical(sigma);
  const noise = smooth(liftQuietCells({ ...mesh, values: sigma }, typical), LEAST_NOISE_STEP * typical);
  const factor = plane.noiseFactor ?? 1;
  return {
    background: smooth({ ...mesh, values: level }, LEAST_LEVEL_STEP * typical),
    noise: factor === 1 ? noise : { ...noise, values: noise.values.map((value) => value * factor) },
  };
}
