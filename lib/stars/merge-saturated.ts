import { type Candidates, selectCandidates } from "./candidates.ts";
import { orderByLight } from "./merge-candidates.ts";
import type { SamplePlane } from "./samples.ts";
import { STAR_FLAGS } from "./star-table.ts";

/** Pixels of a saturated blob that are followed at most: past it the area is no star. */
const LARGEST_BLOB = 250_000;

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

/** A saturated star's flat top. */
export interface SaturatedBlob {
  x: number;
  y: number;
  /** Of a disc of its area, px. */
  radiusPx: number;
}

/** Saturated site nearest to (x, y) within reach, as an index; -1 if there is none. */
function findSaturatedPixel(
  plane: SamplePlane,
  x: number,
  y: number,
  reachPx: number,
  level: number,
): number {
  const { widthPx, heightPx, samples, sites } = plane;
  const left = Math.max(0, Math.ceil(x - reachPx));
  const right = Math.min(widthPx - 1, Math.floor(x + reachPx));
  let nearest = -1;
  let least = reachPx;
  for (let row = Math.max(0, Math.ceil(y - reachPx)); row <= Math.min(heightPx - 1, y + reachPx); row++) {
    for (let column = left; column <= right; column++) {
      const at = row * widthPx + column;
      if (!sites[(column & 1) + 2 * (row & 1)] || !(samples[at] >= level)) continue;
      const distance = Math.hypot(column - x, row - y);
      if (distance <= least) [nearest, least] = [at, distance];
    }
  }
  return nearest;
}

function describeBlob(plane: SamplePlane, pixels: readonly number[]): SaturatedBlob {
  let x = 0;
  let y = 0;
  for (const at of pixels) {
    x += (at % plane.widthPx) / pixels.length;
    y += Math.floor(at / plane.widthPx) / pixels.length;
  }
  const density = plane.sites.filter(Boolean).length / 4;
  return { x, y, radiusPx: Math.sqrt(pixels.length / density / Math.PI) };
}

/**
 * Flags candidates with a saturated pixel within `reachPx`; those that share one saturated blob become one, at the
 * blob's centroid, with the light of its brightest. The blobs are told too.
 */
export function mergeSaturated(
  candidates: Candidates,
  plane: SamplePlane,
  saturationAdu: number,
  reachPx: number,
): { candidates: Candidates; blobs: SaturatedBlob[] } {
  const result = selectCandidates(candidates, Array.from(candidates.xPx.keys()));
  const taken = new Set<number>();
  const blobs: SaturatedBlob[] = [];
  const kept: number[] = [];
  for (const i of orderByLight(candidates)) {
    const nearest = findSaturatedPixel(plane, candidates.xPx[i], candidates.yPx[i], reachPx, saturationAdu);
    if (nearest < 0) {
      kept.push(i);
      continue;
    }
    // The brightest candidate of a blob has it to itself; the rest are its echoes.
    if (taken.has(nearest)) continue;
    result.flags[i] |= STAR_FLAGS.saturated;
    kept.push(i);
    const pixels = followBlob(plane, nearest, saturationAdu, taken);
    const blob = describeBlob(plane, pixels);
    // A saturated pixel or two in a star's core leave the filter's place, which is better.
    if (pixels.length > 2) [result.xPx[i], result.yPx[i]] = [blob.x, blob.y];
    blobs.push(blob);
  }
  return { candidates: selectCandidates(result, kept), blobs };
}
