import type { MeshMap } from "./plane-measurement.ts";

/**
 * Cell value next beyond the edge, from the outermost cell and the two within: straight on, so that a gradient is not
 * flattened in the outermost half cell; its slope is taken over two cells, which halves the noise it carries outwards.
 */
function goOn(outermost: number, next: number, third: number, count: number): number {
  if (count === 1) return outermost;
  return count === 2 ? 2 * outermost - next : outermost + (outermost - third) / 2;
}

/** Cell in a column of the mesh, the row up to two beyond the edges. */
function readColumn(map: MeshMap, column: number, row: number): number {
  const { columns, rows, values } = map;
  if (row >= 0 && row < rows) return values[row * columns + column];
  const edge = row < 0 ? 0 : rows - 1;
  const step = row < 0 ? columns : -columns;
  const at = edge * columns + column;
  const beyond = goOn(
    values[at],
    values[at + Math.min(1, rows - 1) * step],
    values[at + Math.min(2, rows - 1) * step],
    rows,
  );
  return row === -1 || row === rows ? beyond : 2 * beyond - values[at];
}

/** Cell of the mesh, column and row up to two beyond the edges: what lies one cell outside is interpolated from these. */
function readNode(map: MeshMap, column: number, row: number): number {
  const { columns } = map;
  if (column >= 0 && column < columns) return readColumn(map, column, row);
  const edge = column < 0 ? 0 : columns - 1;
  const step = column < 0 ? 1 : -1;
  const outermost = readColumn(map, edge, row);
  const next = readColumn(map, edge + Math.min(1, columns - 1) * step, row);
  const third = readColumn(map, edge + Math.min(2, columns - 1) * step, row);
  const beyond = goOn(outermost, next, third, columns);
  return column === -1 || column === columns ? beyond : 2 * beyond - outermost;
}

/** Weights of Keys's cubic convolution (Keys 1981 IEEE Trans. ASSP 29:1153, a = -1/2) for the four nodes about `t`. */
function weighCubic(t: number): [number, number, number, number] {
  const t2 = t * t;
  const t3 = t2 * t;
  return [
    -0.5 * t + t2 - 0.5 * t3,
    1 - 2.5 * t2 + 1.5 * t3,
    0.5 * t + 2 * t2 - 1.5 * t3,
    -0.5 * t2 + 0.5 * t3,
  ];
}

/** Mesh interval and place within it of pixel `p`; past the outermost centres the outermost interval is prolonged by one. */
function locate(p: number, cellPx: number, count: number): { node: number; t: number } {
  const position = Math.min(Math.max((p + 0.5) / cellPx - 0.5, -1), count);
  const node = Math.min(Math.max(Math.floor(position), -1), count - 1);
  return { node, t: position - node };
}

/** The mesh at pixel row `y`, interpolated down the columns: nodes from -2 to columns + 1. */
function blendRows(map: MeshMap, y: number): Float64Array {
  const { node, t } = locate(y, map.cellPx, map.rows);
  const weights = weighCubic(t);
  const nodes = new Float64Array(map.columns + 4);
  for (let k = 0; k < 4; k++) {
    for (let i = 0; i < nodes.length; i++) nodes[i] += weights[k] * readNode(map, i - 2, node - 1 + k);
  }
  return nodes;
}

/**
 * Fills `out` with the map along pixel row `y`, pixel x = 0 at out[0]: bicubic through the values at the cell centres
 * (pixel (i + 1/2) cellPx - 1/2), straight on past the outermost centres. y may lie outside the frame.
 */
export function fillMeshRow(map: MeshMap, y: number, out: Float32Array): void {
  const nodes = blendRows(map, y);
  const { cellPx, columns } = map;
  for (let node = -1; node < columns; node++) {
    // Pixels whose position (x + 0.5) / cellPx - 0.5 lies in [node, node + 1), the last interval taking all the rest.
    const first = node === -1 ? 0 : Math.ceil((node + 0.5) * cellPx - 0.5);
    const last =
      node === columns - 1 ? out.length : Math.min(out.length, Math.ceil((node + 1.5) * cellPx - 0.5));
    const [a, b, c, d] = [nodes[node + 1], nodes[node + 2], nodes[node + 3], nodes[node + 4]];
    const c1 = 0.5 * (c - a);
    const c2 = a - 2.5 * b + 2 * c - 0.5 * d;
    const c3 = 1.5 * (b - c) + 0.5 * (d - a);
    const step = 1 / cellPx;
    const start = 0.5 * step - 0.5 - node;
    for (let x = first; x < last; x++) {
      const t = x * step + start;
      out[x] = b + t * (c1 + t * (c2 + t * c3));
    }
  }
}

/** The map at pixel position (x, y), as `fillMeshRow` gives it. */
export function sampleMesh(map: MeshMap, x: number, y: number): number {
  const across = locate(x, map.cellPx, map.columns);
  const down = locate(y, map.cellPx, map.rows);
  const weightsX = weighCubic(across.t);
  const weightsY = weighCubic(down.t);
  let sum = 0;
  for (let j = 0; j < 4; j++) {
    for (let i = 0; i < 4; i++) {
      sum += weightsX[i] * weightsY[j] * readNode(map, across.node - 1 + i, down.node - 1 + j);
    }
  }
  return sum;
}
