import type { MeshMap } from "./plane-measurement.ts";

/** Fills NaN cells with the mean of the valid cells around them, ring by ring outwards; a mesh with none becomes 0. */
export function fillEmptyCells(map: MeshMap): MeshMap {
  const { columns, rows } = map;
  const values = map.values.slice();
  if (!values.some(Number.isFinite)) return { ...map, values: values.fill(0) };
  for (let open = true; open; ) {
    open = false;
    const before = values.slice();
    for (let row = 0; row < rows; row++) {
      for (let column = 0; column < columns; column++) {
        if (Number.isFinite(before[row * columns + column])) continue;
        let sum = 0;
        let n = 0;
        for (let r = Math.max(0, row - 1); r <= Math.min(rows - 1, row + 1); r++) {
          for (let c = Math.max(0, column - 1); c <= Math.min(columns - 1, column + 1); c++) {
            const value = before[r * columns + c];
            if (!Number.isFinite(value)) continue;
            sum += value;
            n++;
          }
        }
        if (n > 0) values[row * columns + column] = sum / n;
        else open = true;
      }
    }
  }
  return { ...map, values };
}

/** Reads a cell; one beyond an edge the mesh is turned about its outermost cell, which keeps a gradient a gradient. */
function readTurned(map: MeshMap, column: number, row: number): number {
  const { columns, rows, values } = map;
  const edgeColumn = Math.min(Math.max(column, 0), columns - 1);
  const edgeRow = Math.min(Math.max(row, 0), rows - 1);
  const innerColumn = Math.min(Math.max(2 * edgeColumn - column, 0), columns - 1);
  const innerRow = Math.min(Math.max(2 * edgeRow - row, 0), rows - 1);
  const edge = values[edgeRow * columns + edgeColumn];
  if (edgeColumn === column && edgeRow === row) return edge;
  return 2 * edge - values[innerRow * columns + innerColumn];
}

/** A cell further from the median of the nine about it than so many sigmas of such differences is taken out. */
const OUTLIER_SIGMAS = 5;

function readNine(map: MeshMap, column: number, row: number, nine: Float64Array): Float64Array {
  for (let k = 0; k < 9; k++) nine[k] = readTurned(map, column + (k % 3) - 1, row + Math.floor(k / 3) - 1);
  return nine;
}

/**
 * Puts the 3 x 3 median in the place of cells that a bright star, its halo or a cluster has lifted. Only of those: a
 * median over all would cut the tops and fill the hollows of vignetting and nebulosity, as differences below `leastStep`
 mostly are.
 */
export function replaceOutlierCells(map: MeshMap, leastStep: number): MeshMap {
  const { columns, values } = map;
  const nine = new Float64Array(9);
  const medians = values.map((_, i) => readNine(map, i % columns, Math.floor(i / columns), nine).sort()[4]);
  const distances = values.map((value, i) => Math.abs(value - medians[i])).sort();
  // 1.4826 makes the median distance a sigma of a normal law.
  const limit = Math.max(leastStep, OUTLIER_SIGMAS * 1.4826 * distances[distances.length >> 1]);
  return {
    ...map,
    values: values.map((value, i) => (Math.abs(value - medians[i]) > limit ? medians[i] : value)),
  };
}

/**
 * Takes a quarter of the noise off a mesh: least-squares quadratic through the nine cells about each (Savitzky & Golay
 * 1964 Anal. Chem. 36:1627, in two dimensions), which leaves gradients and curvature as they are.
 */
export function smoothMesh(map: MeshMap): MeshMap {
  const { columns, values } = map;
  const nine = new Float64Array(9);
  const weights = [-1, 2, -1, 2, 5, 2, -1, 2, -1];
  return {
    ...map,
    values: values.map((_, i) => {
      readNine(map, i % columns, Math.floor(i / columns), nine);
      return weights.reduce((sum, weight, k) => sum + weight * nine[k], 0) / 9;
    }),
  };
}

/**
 * The last column and row of cells take up what is left of the frame and so have their centres elsewhere than the mesh
 * says; their values are carried along the local slope to where the mesh has them.
 */
export function recentreLastCells(map: MeshMap, widthPx: number, heightPx: number): MeshMap {
  const { columns, rows, cellPx } = map;
  const values = map.values.slice();
  const stretch = (count: number, sizePx: number) => {
    const centre = ((count - 1) * cellPx + sizePx) / 2;
    return cellPx / (centre - (count - 1.5) * cellPx);
  };
  if (columns > 1) {
    const factor = stretch(columns, widthPx);
    for (let row = 0; row < rows; row++) {
      const last = row * columns + columns - 1;
      values[last] = values[last - 1] + (values[last] - values[last - 1]) * factor;
    }
  }
  if (rows > 1) {
    const factor = stretch(rows, heightPx);
    for (let last = (rows - 1) * columns; last < rows * columns; last++) {
      values[last] = values[last - columns] + (values[last] - values[last - columns]) * factor;
    }
  }
  return { ...map, values };
}
