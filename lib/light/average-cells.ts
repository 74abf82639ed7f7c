import { estimateMadSigma, median } from "../maths/statistics.ts";
import type { CellGrid } from "./reduce-cells.ts";

/** Frames of one plane averaged: the light in cells, 1 near the middle of the frame. */
export interface CellAverage {
  light: Float64Array;
  /** Level of each frame at the middle, ADU above zero. */
  levels: number[];
  /** Cells in single frames that were left out because they shone brighter than in the other frames. */
  starCells: number;
}

/** Cells in the middle half of each side: their median is a frame's level. */
function listMiddleCells(grid: CellGrid): number[] {
  const cells: number[] = [];
  for (let row = Math.floor(grid.rows / 4); row < Math.ceil((3 * grid.rows) / 4); row++) {
    for (let column = Math.floor(grid.columns / 4); column < Math.ceil((3 * grid.columns) / 4); column++) {
      cells.push(row * grid.columns + column);
    }
  }
  return cells;
}

/** A frame's cell further off the others than this many deviations is left out (common practice, no source). */
const clipAt = 5;

/**
 * Averages frames of one plane, zero taken off, each brought to the same level: a cell that departs in one frame from the
 * median of the frames by 5 deviations (of that frame's own cells) is left out there. That rejects stars in dithered sky
 * flats and passing light; from three frames on. Fewer frames are averaged as they are, and the map's own robust fit must do.
 */
export function averageCells(frames: readonly Float64Array[], grid: CellGrid): CellAverage {
  const middle = listMiddleCells(grid);
  const levels = frames.map((cells) => median(middle.map((k) => cells[k]).filter(Number.isFinite)));
  const count = grid.columns * grid.rows;
  const light = new Float64Array(count);
  if (frames.length < 3) {
    for (let k = 0; k < count; k++) {
      let [sum, n] = [0, 0];
      frames.forEach((cells, f) => {
        if (!Number.isFinite(cells[k])) return;
        sum += cells[k] / levels[f];
        n++;
      });
      light[k] = n === 0 ? Number.NaN : sum / n;
    }
    return { light, levels, starCells: 0 };
  }
  const middles = new Float64Array(count);
  const scratch = new Float64Array(frames.length);
  for (let k = 0; k < count; k++) {
    for (let f = 0; f < frames.length; f++) scratch[f] = frames[f][k] / levels[f];
    middles[k] = median(scratch);
  }
  // A frame may differ from the others by a slowly changing light: departures are counted from its own neighbourhood.
  const departures = frames.map((cells, f) => flattenDepartures(cells, levels[f], middles, grid));
  const limits = departures.map((list) => clipAt * Math.max(estimateMadSigma(list), 1e-6));
  let starCells = 0;
  for (let k = 0; k < count; k++) {
    let [sum, n] = [0, 0];
    for (let f = 0; f < frames.length; f++) {
      const departure = departures[f][k];
      if (!(Math.abs(departure) <= limits[f])) {
        if (departure > 0) starCells++;
        continue;
      }
      sum += frames[f][k] / levels[f];
      n++;
    }
    light[k] = n === 0 ? middles[k] : sum / n;
  }
  return { light, levels, starCells };
}

/** Side of the blocks whose median is taken as the slow part of a frame's departure, cells. */
const blockCells = 16;

function flattenDepartures(
  cells: Float64Array,
  level: number,
  middles: Float64Array,
  grid: CellGrid,
): Float64Array {
  const departures = cells.map((value, k) => value / level - middles[k]);
  for (let top = 0; top < grid.rows; top += blockCells) {
    for (let left = 0; left < grid.columns; left += blockCells) {
      const block: number[] = [];
      for (let row = top; row < Math.min(grid.rows, top + blockCells); row++) {
        for (let column = left; column < Math.min(grid.columns, left + blockCells); column++)
          block.push(row * grid.columns + column);
      }
      const slow = median(block.map((k) => departures[k]));
      if (Number.isFinite(slow)) for (const k of block) departures[k] -= slow;
    }
  }
  return departures;
}
