import { estimateMadSigma } from "../maths/statistics.ts";
import { averageNeighbours, type LightCells } from "./light-cells.ts";

/** Cells in the shadows of dust, and how many shadows there are. */
export interface Dust {
  masked: Uint8Array;
  spots: number;
}

/**
 * Departures of 3 x 3 cells together that count: 6 of their deviations, and a quarter of a percent of the light: shallower
 * shadows change no corner by what matters, and a smooth map misses the bend at a ring's edge by up to that (chosen).
 */
const least = { sigmas: 6, light: 2.5e-3, inCorner: 1e-2 };
/** Within this of two edges of the frame, mm, only deep shadows count: rings' edges bend the light most there. */
const cornerMm = 2.5;
/** A shadow is a disc or ring up to this wide, mm; what is longer is the train's own edge or reflection (chosen). */
const widestMm = 3;
/** Cells masked around a shadow: its soft edge. */
const margin = 2;

/**
 * Finds the shadows of dust in what a smooth surface left over: groups of cells that depart together, each no wider
 * than 3 mm. The shadow's cells, what they enclose and a margin of two are masked. A group in a very corner of the frame is
 * no dust: that is where rings cut first.
 */
export function findDust(cells: LightCells, residuals: Float64Array): Dust {
  const { columns, rows } = cells;
  const smooth = averageNeighbours(residuals, columns, rows);
  const limit = Math.max(least.light, least.sigmas * estimateMadSigma(smooth));
  const seen = new Uint8Array(smooth.length);
  const masked = new Uint8Array(smooth.length);
  const widest = widestMm / cells.stepMm;
  let spots = 0;
  for (let start = 0; start < smooth.length; start++) {
    if (seen[start] !== 0 || !(Math.abs(smooth[start]) > limit)) continue;
    const group = collectGroup(smooth, limit, start, columns, rows, seen);
    if (Math.max(group.right - group.left, group.bottom - group.top) + 1 > widest) continue;
    const inCorner =
      (group.left === 0 || group.right === columns - 1) && (group.top === 0 || group.bottom === rows - 1);
    const nearCorner =
      Math.min(group.left, columns - 1 - group.right) * cells.stepMm < cornerMm &&
      Math.min(group.top, rows - 1 - group.bottom) * cells.stepMm < cornerMm;
    const deepest = group.cells.reduce((most, k) => Math.max(most, Math.abs(smooth[k])), 0);
    if (inCorner || (nearCorner && deepest < least.inCorner)) continue;
    spots++;
    for (const k of group.cells) maskAround(masked, k, columns, rows);
  }
  fillEnclosed(masked, columns, rows);
  return { masked, spots };
}

function collectGroup(
  smooth: Float64Array,
  limit: number,
  start: number,
  columns: number,
  rows: number,
  seen: Uint8Array,
) {
  const group = { cells: [start], left: columns, right: -1, top: rows, bottom: -1 };
  seen[start] = 1;
  for (let at = 0; at < group.cells.length; at++) {
    const k = group.cells[at];
    const [row, column] = [Math.floor(k / columns), k % columns];
    group.left = Math.min(group.left, column);
    group.right = Math.max(group.right, column);
    group.top = Math.min(group.top, row);
    group.bottom = Math.max(group.bottom, row);
    for (let y = Math.max(0, row - 1); y <= Math.min(rows - 1, row + 1); y++) {
      for (let x = Math.max(0, column - 1); x <= Math.min(columns - 1, column + 1); x++) {
        const next = y * columns + x;
        if (seen[next] !== 0 || !(Math.abs(smooth[next]) > limit)) continue;
        seen[next] = 1;
        group.cells.push(next);
      }
    }
  }
  return group;
}

/** Masks what masked cells enclose: the floor of a shadow whose edge alone departs from a surface that follows the floor. */
function fillEnclosed(masked: Uint8Array, columns: number, rows: number): void {
  const open = new Uint8Array(masked.length);
  const queue: number[] = [];
  const visit = (k: number) => {
    if (open[k] !== 0 || masked[k] !== 0) return;
    open[k] = 1;
    queue.push(k);
  };
  for (let column = 0; column < columns; column++) {
    visit(column);
    visit((rows - 1) * columns + column);
  }
  for (let row = 0; row < rows; row++) {
    visit(row * columns);
    visit(row * columns + columns - 1);
  }
  for (let at = 0; at < queue.length; at++) {
    const k = queue[at];
    const column = k % columns;
    if (column > 0) visit(k - 1);
    if (column < columns - 1) visit(k + 1);
    if (k >= columns) visit(k - columns);
    if (k < masked.length - columns) visit(k + columns);
  }
  for (let k = 0; k < masked.length; k++) if (open[k] === 0) masked[k] = 1;
}

function maskAround(masked: Uint8Array, k: number, columns: number, rows: number): void {
  const [row, column] = [Math.floor(k / columns), k % columns];
  for (let y = Math.max(0, row - margin); y <= Math.min(rows - 1, row + margin); y++) {
    for (let x = Math.max(0, column - margin); x <= Math.min(columns - 1, column + margin); x++)
      masked[y * columns + x] = 1;
  }
}
