import type { FrameTransform } from "./align-frames.ts";
import { applyTransform } from "./align-frames.ts";

/** Places in px, columns of equal length. */
export interface Places {
  xPx: ArrayLike<number>;
  yPx: ArrayLike<number>;
}

/**
 * For each of `others`, moved by `transform`, the index of the nearest of `targets` within `radiusPx`, else -1.
 * One to one: where two claim the same target the nearer one has it. Places of NaN match nothing.
 */
export function matchPositions(
  targets: Places,
  others: Places,
  transform: FrameTransform,
  radiusPx: number,
): Int32Array {
  const cell = Math.max(16, radiusPx);
  const cells = new Map<number, number[]>();
  const nameCell = (column: number, row: number) => column * 1_048_576 + row;
  for (let i = 0; i < targets.xPx.length; i++) {
    if (!Number.isFinite(targets.xPx[i] + targets.yPx[i])) continue;
    const name = nameCell(Math.floor(targets.xPx[i] / cell), Math.floor(targets.yPx[i] / cell));
    const members = cells.get(name);
    if (members === undefined) cells.set(name, [i]);
    else members.push(i);
  }
  const matches = new Int32Array(others.xPx.length).fill(-1);
  const claimedBy = new Int32Array(targets.xPx.length).fill(-1);
  const claimedAt = new Float64Array(targets.xPx.length).fill(radiusPx * radiusPx);
  for (let j = 0; j < others.xPx.length; j++) {
    const { x, y } = applyTransform(transform, others.xPx[j], others.yPx[j]);
    if (!Number.isFinite(x + y)) continue;
    const column = Math.floor(x / cell);
    const row = Math.floor(y / cell);
    let nearest = -1;
    let nearest2 = radiusPx * radiusPx;
    for (let c = column - 1; c <= column + 1; c++) {
      for (let r = row - 1; r <= row + 1; r++) {
        for (const i of cells.get(nameCell(c, r)) ?? []) {
          const distance2 = (targets.xPx[i] - x) ** 2 + (targets.yPx[i] - y) ** 2;
          if (distance2 <= nearest2) {
            nearest2 = distance2;
            nearest = i;
          }
        }
      }
    }
    if (nearest < 0 || (claimedBy[nearest] >= 0 && claimedAt[nearest] <= nearest2)) continue;
    if (claimedBy[nearest] >= 0) matches[claimedBy[nearest]] = -1;
    claimedBy[nearest] = j;
    claimedAt[nearest] = nearest2;
    matches[j] = nearest;
  }
  return matches;
}

/** Least-squares turn, scale and shift from `others` to their `targets`; null for fewer than two matches. */
export function fitTransform(targets: Places, others: Places, matches: Int32Array): FrameTransform | null {
  let n = 0;
  let [sumX, sumY, sumU, sumV] = [0, 0, 0, 0];
  for (let j = 0; j < matches.length; j++) {
    if (matches[j] < 0) continue;
    n++;
    sumX += others.xPx[j];
    sumY += others.yPx[j];
    sumU += targets.xPx[matches[j]];
    sumV += targets.yPx[matches[j]];
  }
  if (n < 2) return null;
  let [real, imaginary, spread] = [0, 0, 0];
  for (let j = 0; j < matches.length; j++) {
    if (matches[j] < 0) continue;
    const x = others.xPx[j] - sumX / n;
    const y = others.yPx[j] - sumY / n;
    const u = targets.xPx[matches[j]] - sumU / n;
    const v = targets.yPx[matches[j]] - sumV / n;
    real += x * u + y * v;
    imaginary += x * v - y * u;
    spread += x * x + y * y;
  }
  if (!(spread > 0)) return null;
  const a = real / spread;
  const b = imaginary / spread;
  return { a, b, tx: (sumU - a * sumX + b * sumY) / n, ty: (sumV - b * sumX - a * sumY) / n };
}
