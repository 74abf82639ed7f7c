import type { FilterGrid } from "./matched-filter.ts";

/**
 * What the kernel meets at each column of one grid row: `sum` of its weights over the sites that hold values inside the
 * frame, and `gain`, one over the root of the sum of their squares. With N the weighted sum of samples and b the sky,
 * (N - b sum) gain has the noise of one sample everywhere, and its maximum over positions is the likeliest position of
 * a star of the kernel's shape in white noise.
 */
export interface RowWeights {
  sum: Float32Array;
  gain: Float32Array;
}

/** Sums of weights and of their squares down one column of given parity, about grid row `row`. */
function sumColumn(grid: FilterGrid, row: number, parity: number): { first: number; second: number } {
  const { radius, half } = grid.kernel;
  let first = 0;
  let second = 0;
  for (let d = -radius; d <= radius; d++) {
    const y = row + d;
    if (y < 0 || y >= grid.rows || !grid.sites[parity + 2 * (y & 1)]) continue;
    const weight = half[Math.abs(d)];
    first += weight;
    second += weight * weight;
  }
  return { first, second };
}

function computeRowWeights(grid: FilterGrid, row: number): RowWeights {
  const { radius, half } = grid.kernel;
  const { columns } = grid;
  const parities = [sumColumn(grid, row, 0), sumColumn(grid, row, 1)];
  const sum = new Float32Array(columns);
  const gain = new Float32Array(columns);
  for (let x = 0; x < columns; x++) {
    // Away from the sides the weights repeat every two columns.
    if (x >= radius + 2 && x < columns - radius) {
      sum[x] = sum[x - 2];
      gain[x] = gain[x - 2];
      continue;
    }
    let first = 0;
    let second = 0;
    for (let d = -radius; d <= radius; d++) {
      if (x + d < 0 || x + d >= columns) continue;
      const weight = half[Math.abs(d)];
      first += weight * parities[(x + d) & 1].first;
      second += weight * weight * parities[(x + d) & 1].second;
    }
    sum[x] = first;
    gain[x] = second > 0 ? 1 / Math.sqrt(second) : 0;
  }
  return { sum, gain };
}

/** Weights by row; rows away from top and bottom repeat every two and are computed once. */
export function makeRowWeights(grid: FilterGrid): (row: number) => RowWeights {
  const kept = new Map<string, RowWeights>();
  return (row) => {
    const inner = row >= grid.kernel.radius && row < grid.rows - grid.kernel.radius;
    const key = inner ? `inner ${row & 1}` : `${row}`;
    let weights = kept.get(key);
    if (weights === undefined) {
      weights = computeRowWeights(grid, row);
      kept.set(key, weights);
    }
    return weights;
  };
}
