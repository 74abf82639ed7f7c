import { locateOnSensor, type SensorGeometry } from "../field/geometry.ts";
import { estimateMadSigma } from "../maths/statistics.ts";
import type { CellGrid } from "./reduce-cells.ts";

/** The averaged light in cells with their places on the sensor: what the smooth map is fitted to. */
export interface LightCells {
  columns: number;
  rows: number;
  /** Side of a cell, mm. */
  stepMm: number;
  xMm: Float64Array;
  yMm: Float64Array;
  /** Light in units of the frame's middle; NaN: no value. */
  light: Float64Array;
}

/** Middles of the cells on the sensor; cells cut by the frame's edge have theirs nearer to it. */
export function placeCells(light: Float64Array, grid: CellGrid, geometry: SensorGeometry): LightCells {
  const xMm = new Float64Array(light.length);
  const yMm = new Float64Array(light.length);
  const middle = (index: number, size: number) =>
    (index * grid.cellPx + Math.min(size, (index + 1) * grid.cellPx) - 1) / 2;
  for (let row = 0; row < grid.rows; row++) {
    for (let column = 0; column < grid.columns; column++) {
      const k = row * grid.columns + column;
      const place = locateOnSensor(geometry, middle(column, grid.widthPx), middle(row, grid.heightPx));
      xMm[k] = place.x;
      yMm[k] = place.y;
    }
  }
  return {
    columns: grid.columns,
    rows: grid.rows,
    stepMm: (grid.cellPx * geometry.umPerPx) / 1000,
    xMm,
    yMm,
    light,
  };
}

/** The frame's outline on the sensor, mm. */
export function outlineFrame(geometry: SensorGeometry): {
  left: number;
  right: number;
  lower: number;
  upper: number;
} {
  const halfWidth = (geometry.widthPx * geometry.umPerPx) / 2000;
  const halfHeight = (geometry.heightPx * geometry.umPerPx) / 2000;
  const { x, y } = geometry.offsetMm;
  return { left: x - halfWidth, right: x + halfWidth, lower: y - halfHeight, upper: y + halfHeight };
}

/** Means of each value with its eight neighbours, NaN left out; row by row. */
export function averageNeighbours(values: Float64Array, columns: number, rows: number): Float64Array {
  const smooth = new Float64Array(values.length);
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      let [sum, n] = [0, 0];
      for (let y = Math.max(0, row - 1); y <= Math.min(rows - 1, row + 1); y++) {
        for (let x = Math.max(0, column - 1); x <= Math.min(columns - 1, column + 1); x++) {
          const value = values[y * columns + x];
          if (Number.isNaN(value)) continue;
          sum += value;
          n++;
        }
      }
      smooth[row * columns + column] = n === 0 ? Number.NaN : sum / n;
    }
  }
  return smooth;
}

/**
 * Weights of cells by how far each departs from its neighbours' residuals: Huber's scheme (Huber 1964) at 3 sigma. What
 * neighbours share is the light's own shape, a corner that only one ring darkens for instance, and keeps its weight. 0 for NaN.
 */
export function weighCells(residuals: Float64Array, columns: number, rows: number): Float64Array {
  const smooth = averageNeighbours(residuals, columns, rows);
  const apart = residuals.map((value, k) => value - smooth[k]);
  const limit = 3 * Math.max(estimateMadSigma(apart), 1e-7);
  return apart.map((value) => {
    const size = Math.abs(value);
    return size <= limit ? 1 : size > limit ? limit / size : 0;
  });
}
