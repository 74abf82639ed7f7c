import { median } from "../maths/statistics.ts";

/** Where the greens of a colour-filter array lie that the samples betray: on the diagonal from the upper left, or the other one. */
export interface FoundMosaic {
  greens: "falling" | "rising";
}

/** The frame is looked at in so many squares each way, of so many 2 x 2 blocks a side: a quarter of a million samples. */
const tilesAcross = 8;
const blocksAcross = 32;
/**
 * A difference counts from this many of its errors, and from this share of the pixels' noise: the colour of the sky makes tenths
 * of it, a camera's own steps between odd and even columns hundredths (chosen).
 */
const leastErrors = 6;
const leastShare = 0.04;
/**
 * And from this share of the noise squared, ADU, which for some 1 e-/ADU is the light itself: pixels that share a read-out differ
 * by thousandths of the light, which many pixels of a bright flat would show.
 */
const leastOfLight = 0.01;

/** Differences within the 2 x 2 blocks of one tile: columns, rows and diagonals, medians; and the pixels' noise. */
interface TileContrast {
  columns: number;
  rows: number;
  diagonals: number;
  noise: number;
}

function readTile(
  samples: ArrayLike<number>,
  widthPx: number,
  x0: number,
  y0: number,
  blocks: number,
): TileContrast | null {
  const [columns, rows, diagonals]: number[][] = [[], [], []];
  for (let j = 0; j < blocks; j++) {
    for (let i = 0; i < blocks; i++) {
      const at = (y0 + 2 * j) * widthPx + x0 + 2 * i;
      const [a, b, c, d] = [samples[at], samples[at + 1], samples[at + widthPx], samples[at + widthPx + 1]];
      if (!Number.isFinite(a + b + c + d)) continue;
      columns.push((b + d - a - c) / 2);
      rows.push((c + d - a - b) / 2);
      diagonals.push((b + c - a - d) / 2);
    }
  }
  if (columns.length < (blocks * blocks) / 2) return null;
  const middle = median(diagonals);
  // Each difference of two pairs' means has the noise of one pixel; 1.4826 makes the median deviation a sigma.
  const noise = 1.4826 * median(diagonals.map((value) => Math.abs(value - middle)));
  return { columns: median(columns), rows: median(rows), diagonals: middle, noise };
}

/** Median over the tiles with its error, by their scatter. */
function gather(values: readonly number[]): { size: number; error: number } {
  const middle = median(values);
  const scatter = 1.4826 * median(values.map((value) => Math.abs(value - middle)));
  return { size: Math.abs(middle), error: (1.2533 * scatter) / Math.sqrt(values.length) };
}

/**
 * Whether the samples look like those behind a 2 x 2 colour-filter array: the sky is of another brightness in red and blue than
 * in green, so that one diagonal of each block of four pixels differs from the other, or red and blue differ, and then columns and
 * rows differ by the same amount. A camera that reads odd and even columns (or rows) by different amplifiers shows one of these
 * alone, and is not taken for one. Samples: row-major, row 0 at the displayed top; NaN is left out.
 *
 * @returns null for plain samples, and for frames too small or too empty to tell
 * @source own reasoning; the arrays' layout: common practice, no source
 */
export function findMosaic(samples: ArrayLike<number>, widthPx: number): FoundMosaic | null {
  const heightPx = Math.floor(samples.length / widthPx);
  const blocks = Math.min(blocksAcross, Math.floor(Math.min(widthPx, heightPx) / tilesAcross / 2));
  if (blocks < 4) return null;
  const tiles: TileContrast[] = [];
  for (let row = 0; row < tilesAcross; row++) {
    for (let column = 0; column < tilesAcross; column++) {
      const x0 = 2 * Math.floor((column * widthPx) / tilesAcross / 2);
      const y0 = 2 * Math.floor((row * heightPx) / tilesAcross / 2);
      const tile = readTile(samples, widthPx, x0, y0, blocks);
      if (tile !== null) tiles.push(tile);
    }
  }
  if (tiles.length < 16) return null;
  const noise = median(tiles.map((tile) => tile.noise));
  const [columns, rows, diagonals] = (["columns", "rows", "diagonals"] as const).map((key) =>
    gather(tiles.map((tile) => tile[key])),
  );
  // Whole numbers make medians jump by halves: no error is taken as smaller than a hundredth of the noise.
  const stands = ({ size, error }: { size: number; error: number }): boolean =>
    size > leastErrors * Math.max(error, noise / 100) &&
    size > Math.max(leastShare * noise, leastOfLight * noise * noise);
  const alike =
    stands(columns) &&
    stands(rows) &&
    Math.abs(columns.size - rows.size) < 0.25 * (columns.size + rows.size) + 4 * columns.error;
  if (!stands(diagonals) && !alike) return null;
  return { greens: findGreens(tiles, alike) };
}

/** Greens are alike: with red and blue apart, columns and rows then differ by the same amount with the same or opposite sign. */
function findGreens(tiles: readonly TileContrast[], redBlueApart: boolean): FoundMosaic["greens"] {
  if (redBlueApart) {
    const product = median(tiles.map(({ columns, rows }) => columns * rows));
    // R G / G B: columns and rows both differ by B - R; G R / B G: by opposite amounts.
    return product > 0 ? "rising" : "falling";
  }
  // Only the diagonals differ: the sky is as a rule brightest in green, which passes the widest band.
  return median(tiles.map(({ diagonals }) => diagonals)) > 0 ? "rising" : "falling";
}

/** What to say of samples that look like a mosaic where no pattern is known; null where they do not. */
export function warnOfMosaic(samples: ArrayLike<number>, widthPx: number): string | null {
  const found = findMosaic(samples, widthPx);
  if (found === null) return null;
  const patterns = found.greens === "rising" ? "RGGB or BGGR" : "GRBG or GBRG";
  return `Every second pixel differs as behind a colour-filter array, but neither the record nor the file's header names a pattern. Measured as one channel, the widths and shapes of its stars are wrong. Set camera.cfa to the pattern as displayed from the upper left (by the samples ${patterns}).`;
}
