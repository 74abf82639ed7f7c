import { type Candidates, selectCandidates } from "./candidates.ts";
import { makeCellIndex } from "./cell-index.ts";

/** Rows by falling light; equal ones by place, so that the order never depends on bands. */
export function orderByLight(candidates: Candidates): number[] {
  const { fluxAdu, yPx, xPx } = candidates;
  return Array.from(fluxAdu.keys()).sort(
    (a, b) => fluxAdu[b] - fluxAdu[a] || yPx[a] - yPx[b] || xPx[a] - xPx[b],
  );
}

/**
 * Keeps one candidate per star: of any two closer than `radiusPx` the brighter. Two maxima of the filtered frame that
 * close are one star that the optics or noise have split, since two stars so close make one maximum.
 */
export function mergeCloseCandidates(candidates: Candidates, radiusPx: number): Candidates {
  const order = orderByLight(candidates);
  const index = makeCellIndex(candidates.xPx, candidates.yPx, Math.max(4, radiusPx));
  const dropped = new Uint8Array(order.length);
  const kept: number[] = [];
  for (const i of order) {
    if (dropped[i]) continue;
    kept.push(i);
    index.visit(candidates.xPx[i], candidates.yPx[i], radiusPx, (j) => {
      if (j !== i) dropped[j] = 1;
    });
  }
  return selectCandidates(candidates, kept);
}
