import { estimateMadSigma } from "../maths/statistics.ts";
import { factorBand, solveLower, solveUpper } from "./banded-cholesky.ts";
import type { LightMap } from "./flat-measurement.ts";
import { type LightCells, weighCells } from "./light-cells.ts";
import { findInterval, writeCubicWeights } from "./spline-basis.ts";

/** A smooth surface through what a first model left over, and how well it is known. */
export interface MeshFit {
  mesh: LightMap["mesh"];
  /** Cells minus surface, masked ones too; NaN where a cell has no value. */
  residuals: Float64Array;
  /** Scatter of single cells about the surface. */
  sigma: number;
  /** Coefficients of a surface as wrong as this one may be: a draw from their covariance, `normals` standard normal deviates. */
  draw: (normals: Float64Array) => Float64Array;
}

/** Share of a knot's cells that the smoothness counts as: it decides in gaps and leaves the rest alone. */
const smoothing = 5e-4;
const rounds = 2;

/**
 * Fits a mesh of cubic B-splines, a knot every `stepMm`, to the rest of the cells not masked, with Huber's weights and
 * second differences held small (Eilers & Marx 1996, P-splines): in the gap of a dust shadow it runs on smoothly.
 * `held` draws the values themselves to zero, in cells' weights: how little the first model is expected to leave over.
 */
export function fitMesh(
  cells: LightCells,
  rest: Float64Array,
  masked: Uint8Array,
  stepMm: number,
  outline: { left: number; right: number; lower: number; upper: number },
  held = 1e-9,
): MeshFit {
  const columns = Math.max(1, Math.ceil((outline.right - outline.left) / stepMm)) + 3;
  const rows = Math.max(1, Math.ceil((outline.upper - outline.lower) / stepMm)) + 3;
  const mesh = {
    columns,
    rows,
    stepMm,
    leftMm: outline.left,
    lowerMm: outline.lower,
    values: [] as number[],
  };
  const size = columns * rows;
  const width = 3 * columns + 3;
  const basis = tabulateBasis(cells, mesh);
  const values = new Float64Array(size);
  const residuals = new Float64Array(rest.length);
  let weights: Float64Array | null = null;
  let band = new Float64Array(0);
  let sigma = Number.POSITIVE_INFINITY;
  for (let round = 0; round < rounds; round++) {
    band = new Float64Array(size * (width + 1));
    const right = new Float64Array(size);
    addSmoothing(band, width, columns, rows, smoothing * (stepMm / cells.stepMm) ** 2, held);
    for (let k = 0; k < rest.length; k++) {
      if (masked[k] !== 0 || Number.isNaN(rest[k])) continue;
      const weight = weights === null ? 1 : weights[k];
      if (weight > 0) addCell(band, right, width, columns, basis, k, weight, rest[k]);
    }
    if (!factorBand(band, size, width)) throw new RangeError("the light map's equations are singular");
    solveLower(band, size, width, right);
    solveUpper(band, size, width, right);
    values.set(right);
    for (let k = 0; k < rest.length; k++) residuals[k] = rest[k] - readCell(values, columns, basis, k);
    weights = weighCells(residuals, cells.columns, cells.rows);
    sigma = Math.max(1e-7, estimateMadSigma(residuals.filter((_, k) => masked[k] === 0)));
  }
  return {
    mesh: { ...mesh, values: [...values] },
    residuals,
    sigma,
    draw(normals) {
      const drawn = Float64Array.from(normals, (value) => value * sigma);
      solveUpper(band, size, width, drawn);
      for (let k = 0; k < size; k++) drawn[k] += values[k];
      return drawn;
    },
  };
}

interface Basis {
  /** First spline of each cell, and the four weights across and up. */
  first: Int32Array;
  across: Float64Array;
  up: Float64Array;
}

function tabulateBasis(cells: LightCells, mesh: Omit<LightMap["mesh"], "values">): Basis {
  const count = cells.xMm.length;
  const basis = {
    first: new Int32Array(count),
    across: new Float64Array(4 * count),
    up: new Float64Array(4 * count),
  };
  for (let k = 0; k < count; k++) {
    const column = findInterval((cells.xMm[k] - mesh.leftMm) / mesh.stepMm, mesh.columns - 3);
    const row = findInterval((cells.yMm[k] - mesh.lowerMm) / mesh.stepMm, mesh.rows - 3);
    basis.first[k] = row.first * mesh.columns + column.first;
    writeCubicWeights(column.t, basis.across.subarray(4 * k, 4 * k + 4));
    writeCubicWeights(row.t, basis.up.subarray(4 * k, 4 * k + 4));
  }
  return basis;
}

function readCell(values: Float64Array, columns: number, basis: Basis, k: number): number {
  let sum = 0;
  for (let j = 0; j < 4; j++) {
    const at = basis.first[k] + j * columns;
    for (let i = 0; i < 4; i++) sum += basis.up[4 * k + j] * basis.across[4 * k + i] * values[at + i];
  }
  return sum;
}

function addCell(
  band: Float64Array,
  right: Float64Array,
  width: number,
  columns: number,
  basis: Basis,
  k: number,
  weight: number,
  value: number,
): void {
  const stride = width + 1;
  for (let a = 0; a < 16; a++) {
    const wa = basis.up[4 * k + (a >> 2)] * basis.across[4 * k + (a & 3)] * weight;
    const row = basis.first[k] + (a >> 2) * columns + (a & 3);
    right[row] += wa * value;
    const at = row * stride + width - row;
    for (let b = 0; b <= a; b++) {
      band[at + basis.first[k] + (b >> 2) * columns + (b & 3)] +=
        wa * basis.up[4 * k + (b >> 2)] * basis.across[4 * k + (b & 3)];
    }
  }
}

function addSmoothing(
  band: Float64Array,
  width: number,
  columns: number,
  rows: number,
  strength: number,
  held: number,
): void {
  const stride = width + 1;
  const hold = (places: readonly [number, number, number]) => {
    const factors = [1, -2, 1];
    for (let a = 0; a < 3; a++) {
      for (let b = 0; b <= a; b++)
        band[places[a] * stride + width - places[a] + places[b]] += strength * factors[a] * factors[b];
    }
  };
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const k = row * columns + column;
      if (column + 2 < columns) hold([k, k + 1, k + 2]);
      if (row + 2 < rows) hold([k, k + columns, k + 2 * columns]);
      band[k * stride + width] += held;
    }
  }
}
