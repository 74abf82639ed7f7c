import { blurTable } from "./blur-table.ts";

/**
 * Widths of a blurred star on a grid of blurs along two axes, for one aperture and one share of diffraction; made by
 * `prepareBlurGrid`, read by `readBlurWidths`.
 */
export interface BlurGrid {
  /** Width along the first axis over that in focus and over sqrt(1 + u1^2); row-major, u1 from 0, u2 from -last. */
  values: Float64Array;
}

const { step, last } = blurTable;
const rows = last + 1;
const columns = 2 * last + 1;
const packedScale = 20000;

let unpacked: Float64Array[] | null = null;

/** The stored grids, one for each obstruction and diffraction share. */
function unpackTable(): Float64Array[] {
  if (unpacked !== null) return unpacked;
  const bytes = Uint8Array.from(atob(blurTable.packedWidths), (letter) => letter.charCodeAt(0));
  const words = new DataView(bytes.buffer);
  const size = rows * columns;
  const grids = blurTable.obstructions.length * blurTable.diffractionShares.length;
  unpacked = Array.from({ length: grids }, (_, grid) =>
    Float64Array.from({ length: size }, (_, k) => words.getUint16(2 * (grid * size + k), true) / packedScale),
  );
  return unpacked;
}

/** Weights of the polynomial through all nodes (Lagrange) at a place held within their range. */
function weighNodes(nodes: readonly number[], place: number): number[] {
  const at = Math.min(Math.max(place, nodes[0]), nodes[nodes.length - 1]);
  return nodes.map((node, i) =>
    nodes.reduce((product, other, j) => (j === i ? product : (product * (at - other)) / (node - other)), 1),
  );
}

/** Grids of one obstruction, one for each diffraction share: a fit asks for hundreds of them, of the same aperture. */
let collapsed: { obstructionRatio: number; tables: Float64Array[] } | null = null;

function collapseObstructions(obstructionRatio: number): Float64Array[] {
  if (collapsed !== null && collapsed.obstructionRatio === obstructionRatio) return collapsed.tables;
  const stored = unpackTable();
  const shares = blurTable.diffractionShares.length;
  const weights = weighNodes(blurTable.obstructions, obstructionRatio);
  const tables = Array.from({ length: shares }, (_, d) => {
    const values = new Float64Array(rows * columns);
    weights.forEach((weight, e) => {
      const table = stored[e * shares + d];
      for (let k = 0; k < values.length; k++) values[k] += weight * table[k];
    });
    return values;
  });
  collapsed = { obstructionRatio, tables };
  return tables;
}

/**
 * Grid of widths for an aperture with linear central obstruction `obstructionRatio` (held to 0..0.5) and for stars
 * whose width in focus is lambda N / `diffractionShare` (held to 0.08..0.78).
 */
export function prepareBlurGrid(obstructionRatio: number, diffractionShare: number): BlurGrid {
  const tables = collapseObstructions(obstructionRatio);
  const weights = weighNodes(blurTable.diffractionShares, diffractionShare);
  const values = new Float64Array(rows * columns);
  weights.forEach((weight, d) => {
    const table = tables[d];
    for (let k = 0; k < values.length; k++) values[k] += weight * table[k];
  });
  return { values };
}

/** Gives a grid for a diffraction share. */
export type GridShelf = (diffractionShare: number) => BlurGrid;

/**
 * Step of a shelf's shares, as a share. Half of it changes widths by up to 5e-4 at blurs to 1.5 widths of a star in focus and
 * by up to 2e-3 at 3: well below the percent or two by which draws of a fit differ.
 */
const shelfStep = 0.002;

/**
 * Grids for one aperture that are prepared once for every diffraction share near enough: for the hundreds of draws of a
 * fit, whose seeing differs by a percent or two. A fit itself needs its own grids, as it takes differences of them.
 */
export function makeGridShelf(obstructionRatio: number): GridShelf {
  const known = new Map<number, BlurGrid>();
  return (diffractionShare) => {
    const place = Math.round(Math.log(diffractionShare) / shelfStep);
    const grid = known.get(place) ?? prepareBlurGrid(obstructionRatio, Math.exp(place * shelfStep));
    known.set(place, grid);
    return grid;
  };
}

/** Seeing's own width over the width in focus, for the same two numbers; what the aperture's diffraction leaves of it. */
export function readSeeingShare(obstructionRatio: number, diffractionShare: number): number {
  const byShare = weighNodes(blurTable.diffractionShares, diffractionShare);
  return weighNodes(blurTable.obstructions, obstructionRatio).reduce(
    (sum, outer, e) =>
      sum + outer * blurTable.seeingShares[e].reduce((inner, share, d) => inner + byShare[d] * share, 0),
    0,
  );
}

const weightsA = new Float64Array(4);
const weightsB = new Float64Array(4);

/** Weights of a cubic with continuous slope (Catmull & Rom 1974) for a place 0 <= f <= 1 between its middle nodes. */
function weighCubic(f: number, into: Float64Array): void {
  into[0] = (-f * (1 - f) * (1 - f)) / 2;
  into[1] = 1 - f * f * (2.5 - 1.5 * f);
  into[2] = (f * (1 + f * (4 - 3 * f))) / 2;
  into[3] = (-f * f * (1 - f)) / 2;
}

/** Value at row i (may be -1: negating both axes changes nothing) and column j, held within the grid. */
function readNode(values: Float64Array, i: number, j: number): number {
  const row = i < 0 ? -i : Math.min(i, last);
  const column = i < 0 ? -j : j;
  return values[row * columns + last + Math.max(-last, Math.min(last, column))];
}

function readAlong(values: Float64Array, first: number, second: number): number {
  const a = Math.min(Math.asinh(first) / step, last);
  const b = Math.max(-last, Math.min(last, Math.asinh(second) / step));
  const i = Math.min(Math.floor(a), last - 1);
  const j = Math.max(-last, Math.min(Math.floor(b), last - 1));
  weighCubic(a - i, weightsA);
  weighCubic(b - j, weightsB);
  const inside = i > 0 && i < last - 1 && j > -last && j < last - 1;
  let sum = 0;
  if (inside) {
    for (let p = 0; p < 4; p++) {
      const at = (i + p - 1) * columns + last + j - 1;
      sum +=
        weightsA[p] *
        (weightsB[0] * values[at] +
          weightsB[1] * values[at + 1] +
          weightsB[2] * values[at + 2] +
          weightsB[3] * values[at + 3]);
    }
    return sum;
  }
  for (let p = 0; p < 4; p++) {
    for (let q = 0; q < 4; q++) {
      sum += weightsA[p] * weightsB[q] * readNode(values, i + p - 1, j + q - 1);
    }
  }
  return sum;
}

/**
 * Squared half-maximum widths along two axes, each over the squared width in focus, of a star with the geometric blur
 * diameters u1 and u2 (over the width in focus) along them. u1 >= 0; u2 carries the sign of the product of the two
 * defoci, for near focus a cross of two foci is not the blur of one. Beyond u = 6 the widths grow in proportion.
 *
 * @param into - receives the two squares
 */
export function readBlurWidths(grid: BlurGrid, u1: number, u2: number, into: Float64Array): void {
  const sign = u2 < 0 ? -1 : 1;
  const size = Math.abs(u2);
  into[0] = readAlong(grid.values, u1, u2) ** 2 * (1 + u1 * u1);
  into[1] = readAlong(grid.values, size, sign * u1) ** 2 * (1 + u2 * u2);
}
