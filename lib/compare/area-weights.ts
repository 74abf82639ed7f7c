/** How samples along one axis make up the values of a coarser grid: `taps` samples for each, row by row. */
export interface AxisWeights {
  /** Values of the coarser grid. */
  count: number;
  taps: number;
  /** Place of each value's first sample, in the lattice. */
  first: Int32Array;
  weights: Float64Array;
}

/** Samples along one axis: `count` of them, `pitch` px apart, the first at `origin`; each the mean over one px. */
export interface Lattice {
  count: number;
  pitch: number;
  origin: number;
}

/**
 * Edges that the light up to a point is interpolated from. With two the light is spread evenly over each sample's cell,
 * which is plain overlap of areas and widens a star by a further sample's width; with six the light within a cell
 * follows its neighbours, and every moment up to the fourth is right wherever the grids fall on each other.
 */
export const EDGES = 6;

/**
 * Lagrange's weights of `edges` equally spaced values for the place `at` between the middle two (0 to 1 from the lower
 * of these).
 */
function computeLagrange(at: number, edges: number): number[] {
  const lower = 1 - edges / 2;
  return Array.from({ length: edges }, (_, i) => {
    let weight = 1;
    for (let j = 0; j < edges; j++) if (j !== i) weight *= (at - (lower + j)) / (i - j);
    return weight;
  });
}

/**
 * Weights with which the samples of a lattice give the light in windows of `windowPx`, centred at `start`, `start + step`,
 * and so on (px). The light up to each sample's edge is a plain sum, so that between edges only a smooth curve is
 * interpolated, and the light in a window is the difference of two of its values: nothing is lost or counted twice
 * (conservative remapping; with two edges the overlap of areas, as in Fruchter & Hook 2002, PASP 114:144).
 *
 * @returns null where a window with its neighbourhood leaves the lattice
 */
export function makeAxisWeights(
  lattice: Lattice,
  grid: { start: number; step: number; count: number },
  windowPx: number,
  edges = EDGES,
): AxisWeights | null {
  const span = windowPx / lattice.pitch;
  const taps = Math.ceil(span) + edges;
  const first = new Int32Array(grid.count);
  const weights = new Float64Array(grid.count * taps);
  for (let value = 0; value < grid.count; value++) {
    // In cells of the lattice: cell k reaches from edge k to edge k + 1.
    const middle = (grid.start + value * grid.step - lattice.origin) / lattice.pitch + 0.5;
    const [from, to] = [middle - span / 2, middle + span / 2];
    const start = Math.floor(from) + 1 - edges / 2;
    first[value] = start;
    const row = weights.subarray(value * taps, (value + 1) * taps);
    addLightUpTo(row, to, start, edges, 1);
    addLightUpTo(row, from, start, edges, -1);
    if (start < 0 || Math.floor(to) + edges / 2 > lattice.count) return null;
    first[value] = Math.min(start, lattice.count - taps);
    shiftRow(row, start - first[value]);
  }
  return { count: grid.count, taps, first, weights };
}

/** Adds the weights of the light in all samples from `start` up to `edge`, interpolated between the edges around it. */
function addLightUpTo(row: Float64Array, edge: number, start: number, edges: number, sign: number): void {
  const below = Math.floor(edge);
  const lagrange = computeLagrange(edge - below, edges);
  // The sum up to edge e holds the samples start to e - 1.
  for (let i = 0; i < edges; i++) {
    const upTo = below + 1 - edges / 2 + i;
    for (let sample = start; sample < upTo; sample++) row[sample - start] += sign * lagrange[i];
  }
}

/** Moves weights up by some places, where the lattice ends before the last tap. */
function shiftRow(row: Float64Array, places: number): void {
  if (places === 0) return;
  row.copyWithin(places, 0, row.length - places);
  row.fill(0, 0, places);
}

/** Mean over the grid of the sum of squared weights: the variance of a value, in units of a sample's. */
export function measureVariance({ count, weights }: AxisWeights): number {
  return weights.reduce((sum, weight) => sum + weight * weight, 0) / count;
}
