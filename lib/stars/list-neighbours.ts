import { FITTED } from "./fit-stars.ts";
import { TABLE_RADIUS } from "./profile.ts";

/** A neighbour's light below this share of the noise of a pixel changes nothing. */
const noticedSigmas = 0.2;

/** Steepest fall of light reckoned with when asking how far a star reaches: r^-3.5, a seeing disc's wing. */
const wingPower = 3.5;

/**
 * For every star, the other stars whose light reaches into its stamp; empty for most. Rows are those of fitted stars
 * (see FITTED); `stampWidths` as in the fit; `sigmaAdu` the noise of a pixel.
 */
export function listNeighbours(fitted: Float64Array, stampWidths: number, sigmaAdu: number): number[][] {
  const count = fitted.length / FITTED.length;
  const reach = new Float64Array(count);
  let widest = 1;
  for (let i = 0; i < count; i++) {
    const at = i * FITTED.length;
    const halfWidth = (fitted[at + 3] * fitted[at + 5] - fitted[at + 4] ** 2) ** -0.25;
    if (fitted[at + FITTED.converged] !== 1) continue;
    const contrast = fitted[at + 2] / (noticedSigmas * sigmaAdu);
    const lightReach = halfWidth * Math.min(TABLE_RADIUS, Math.max(contrast, 1) ** (1 / wingPower));
    reach[i] = lightReach + 2 * halfWidth * stampWidths;
    widest = Math.max(widest, Math.min(reach[i], 200));
  }
  return collectPairs(fitted, reach, widest);
}

function collectPairs(fitted: Float64Array, reach: Float64Array, cellPx: number): number[][] {
  const count = reach.length;
  const neighbours: number[][] = Array.from({ length: count }, () => []);
  const cells = new Map<number, number[]>();
  const keyOf = (column: number, row: number) => column * 65536 + row;
  const columnOf = (i: number) => Math.floor(fitted[i * FITTED.length] / cellPx);
  const rowOf = (i: number) => Math.floor(fitted[i * FITTED.length + 1] / cellPx);
  for (let i = 0; i < count; i++) {
    if (reach[i] === 0) continue;
    const key = keyOf(columnOf(i), rowOf(i));
    const cell = cells.get(key);
    if (cell === undefined) cells.set(key, [i]);
    else cell.push(i);
  }
  for (let i = 0; i < count; i++) {
    for (let dy = -1; dy <= 1; dy++) {
      for (let dx = -1; dx <= 1; dx++) {
        for (const other of cells.get(keyOf(columnOf(i) + dx, rowOf(i) + dy)) ?? []) {
          if (other === i) continue;
          const x = fitted[other * FITTED.length] - fitted[i * FITTED.length];
          const y = fitted[other * FITTED.length + 1] - fitted[i * FITTED.length + 1];
          if (x * x + y * y < reach[other] * reach[other]) neighbours[i].push(other);
        }
      }
    }
  }
  return neighbours;
}
