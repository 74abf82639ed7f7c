import { STAR_FLAGS, type StarTable } from "./star-table.ts";

/** Two rows closer than this share of a width have fallen on the same star. */
const sameStarWidths = 0.5;

/** The table with the flags that need fitted shapes: stars found twice. */
export function flagAfterFit(table: StarTable, fwhmPx: number): StarTable {
  const flags = table.flags.slice();
  const order = Array.from(flags.keys()).sort((a, b) => table.xPx[a] - table.xPx[b]);
  const reach = sameStarWidths * fwhmPx;
  for (let i = 0; i < order.length; i++) {
    for (let j = i + 1; j < order.length && table.xPx[order[j]] - table.xPx[order[i]] < reach; j++) {
      if (Math.abs(table.yPx[order[j]] - table.yPx[order[i]]) > reach) continue;
      // Rows are brightest first: the later one is the echo.
      flags[Math.max(order[i], order[j])] |= STAR_FLAGS.failed;
    }
  }
  return { ...table, flags };
}
