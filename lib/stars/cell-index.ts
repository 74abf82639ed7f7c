/** Finds the points near a place without looking at all of them. */
export interface CellIndex {
  /** Calls `visit` with the row of every point within `radiusPx` of (x, y). */
  visit(x: number, y: number, radiusPx: number, visit: (row: number) => void): void;
}

/** Sorts points into square cells of `cellPx`; rows with a coordinate that is not finite are left out. */
export function makeCellIndex(xPx: ArrayLike<number>, yPx: ArrayLike<number>, cellPx: number): CellIndex {
  const cells = new Map<number, number[]>();
  const cellOf = (value: number) => Math.floor(value / cellPx);
  // Columns and rows from -2^20 on have keys of their own; farther ones would only share cells.
  const keyOf = (column: number, row: number) => (column + 0x100000) * 0x200000 + row + 0x100000;
  for (let i = 0; i < xPx.length; i++) {
    if (!Number.isFinite(xPx[i]) || !Number.isFinite(yPx[i])) continue;
    const key = keyOf(cellOf(xPx[i]), cellOf(yPx[i]));
    const cell = cells.get(key);
    if (cell === undefined) cells.set(key, [i]);
    else cell.push(i);
  }
  return {
    visit(x, y, radiusPx, visit) {
      for (let row = cellOf(y - radiusPx); row <= cellOf(y + radiusPx); row++) {
        for (let column = cellOf(x - radiusPx); column <= cellOf(x + radiusPx); column++) {
          const cell = cells.get(keyOf(column, row));
          if (cell === undefined) continue;
          for (const i of cell) {
            if ((xPx[i] - x) ** 2 + (yPx[i] - y) ** 2 <= radiusPx * radiusPx) visit(i);
          }
        }
      }
    },
  };
}
