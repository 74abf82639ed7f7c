import { type Candidates, makeCandidates, selectCandidates } from "./candidates.ts";
import { makeCellIndex } from "./cell-index.ts";
import type { SamplePlane } from "./samples.ts";
import { STAR_FLAGS } from "./star-table.ts";

/** Pixels of a saturated blob that are followed at most: past it the area is no star. */
const LARGEST_BLOB = 250_000;

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

/** Pixels (of this colour's sites) at or above the level that hang together with the one given. */
function followBlob(plane: SamplePlane, start: number, level: number, visited: Set<number>): number[] {
  const { samples, widthPx, heightPx, sites } = plane;
  // Sites of one colour touch each other two pixels apart.
  const reach = sites.every(Boolean) ? 1 : 2;
  const blob: number[] = [];
  const open = [start];
  visited.add(start);
  while (open.length > 0 && blob.length < LARGEST_BLOB) {
    const at = open.pop() as number;
    blob.push(at);
    const x = at % widthPx;
    const y = (at - x) / widthPx;
    for (let row = Math.max(0, y - reach); row <= Math.min(heightPx - 1, y + reach); row++) {
      for (let column = Math.max(0, x - reach); column <= Math.min(widthPx - 1, x + reach); column++) {
        const next = row * widthPx + column;
        if (!sites[(column & 1) + 2 * (row & 1)] || !(samples[next] >= level) || visited.has(next)) continue;
        visited.add(next);
        open.push(next);
      }
    }
  }
  return blob;
}

/**
 * Flags candidates with a saturated pixel within `reachPx`; those that share one saturated blob become one, at the
 * blob's centroid, with the light of its brightest.
 */
export function mergeSaturated(
  candidates: Candidates,
  plane: SamplePlane,
  saturationAdu: number,
  reachPx: number,
): Candidates {
  const { widthPx, heightPx, samples, sites } = plane;
  const blobOf = new Map<number, number>();
  const owners = new Map<number, number>();
  const visited = new Set<number>();
  const result = selectCandidates(candidates, Array.from(candidates.xPx.keys()));
  const kept: number[] = [];
  let blobs = 0;
  for (const i of orderByLight(candidates)) {
    const x = candidates.xPx[i];
    const y = candidates.yPx[i];
    let nearest = -1;
    let distance = Number.POSITIVE_INFINITY;
    for (let row = Math.max(0, Math.ceil(y - reachPx)); row <= Math.min(heightPx - 1, y + reachPx); row++) {
      for (
        let column = Math.max(0, Math.ceil(x - reachPx));
        column <= Math.min(widthPx - 1, x + reachPx);
        column++
      ) {
        const at = row * widthPx + column;
        if (!sites[(column & 1) + 2 * (row & 1)] || !(samples[at] >= saturationAdu)) continue;
        const d = Math.hypot(column - x, row - y);
        if (d <= reachPx && d < distance) [nearest, distance] = [at, d];
      }
    }
    if (nearest < 0) {
      kept.push(i);
      continue;
    }
    result.flags[i] |= STAR_FLAGS.saturated;
    if (!blobOf.has(nearest)) {
      const blob = followBlob(plane, nearest, saturationAdu, visited);
      for (const at of blob) blobOf.set(at, blobs);
      let sumX = 0;
      let sumY = 0;
      for (const at of blob) {
        sumX += at % widthPx;
        sumY += Math.floor(at / widthPx);
      }
      // A single hot pixel or two in a star's core leave the filter's place, which is better.
      if (blob.length > 2) {
        result.xPx[i] = sumX / blob.length;
        result.yPx[i] = sumY / blob.length;
      }
      blobs++;
    }
    const blob = blobOf.get(nearest) as number;
    if (owners.has(blob)) continue;
    owners.set(blob, i);
    kept.push(i);
  }
  return kept.length === 0 ? makeCandidates(0) : selectCandidates(result, kept);
}
