import type { CellIndex } from "../stars/cell-index.ts";

interface Points {
  x: ArrayLike<number>;
  y: ArrayLike<number>;
}

/**
 * One-to-one pairs of stars: each of `rows`, where `locate` puts it, with the nearest of `targets` within its own
 * radius. Of two that claim one target the nearer has it; the other goes without.
 */
export function pairStars(
  rows: readonly number[],
  locate: (row: number) => readonly [number, number],
  targets: Points,
  index: CellIndex,
  radiusOf: (row: number) => number,
): [number, number][] {
  const claims = new Map<number, { row: number; distance: number }>();
  for (const row of rows) {
    const [x, y] = locate(row);
    let nearest = -1;
    let least = Number.POSITIVE_INFINITY;
    index.visit(x, y, radiusOf(row), (target) => {
      const distance = (targets.x[target] - x) ** 2 + (targets.y[target] - y) ** 2;
      if (distance < least) {
        least = distance;
        nearest = target;
      }
    });
    if (nearest < 0) continue;
    const claim = claims.get(nearest);
    if (claim === undefined || least < claim.distance) claims.set(nearest, { row, distance: least });
  }
  return [...claims].map(([target, { row }]): [number, number] => [row, target]);
}
