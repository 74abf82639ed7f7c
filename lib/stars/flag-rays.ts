import type { Candidates } from "./candidates.ts";
import { makeCellIndex } from "./cell-index.ts";
import type { Trail } from "./flag-trails.ts";
import type { SaturatedBlob } from "./merge-saturated.ts";
import { STAR_FLAGS } from "./star-table.ts";

/** Rays of a saturated star are looked for out to so many radii of its flat top. Chosen on drawn frames. */
const REACH_RADII = 100;
/** A knot on a ray is drawn out at least so much, and points at the star within this angle, degrees. */
const LEAST_RIDGE = 0.35;
const ANGLE_TOLERANCE_DEG = 15;
/** So many knots in one direction tell a ray from strangers; both arms of a spike count. */
const FEWEST_KNOTS = 4;

interface Neighbour {
  row: number;
  distance: number;
  /** Degrees, y up, sense counted. */
  direction: number;
  isKnot: boolean;
}

/** How far the farther of two neighbours lies from the line through the star and the nearer, px. */
function measureAcross(a: Neighbour, b: Neighbour): number {
  const apart = Math.abs(((a.direction - b.direction + 450) % 180) - 90);
  return Math.max(a.distance, b.distance) * Math.sin((apart * Math.PI) / 180);
}

function listNeighbours(
  candidates: Candidates,
  index: ReturnType<typeof makeCellIndex>,
  { x, y, radiusPx }: SaturatedBlob,
  fwhmPx: number,
): Neighbour[] {
  const neighbours: Neighbour[] = [];
  index.visit(x, y, Math.max(REACH_RADII * radiusPx, 10 * fwhmPx), (row) => {
    const dx = candidates.xPx[row] - x;
    const dy = candidates.yPx[row] - y;
    const distance = Math.hypot(dx, dy);
    if (distance < 1.5 * radiusPx || (candidates.flags[row] & STAR_FLAGS.saturated) !== 0) return;
    const direction = (Math.atan2(-dy, dx) * 180) / Math.PI;
    const off = Math.abs(((candidates.ridgeAngleDeg[row] - direction + 450) % 180) - 90);
    const isKnot = candidates.ridge[row] >= LEAST_RIDGE && off <= ANGLE_TOLERANCE_DEG;
    neighbours.push({ row, distance, direction, isKnot });
  });
  return neighbours;
}

/**
 * Sets STAR_FLAGS.trail on what lies on the diffraction spikes of saturated stars: where at least four objects drawn out
 * towards the star lie in one direction from it, everything along that direction out to the last of them. That is light
 * of the star, or a star whose shape the ray spoils.
 */
export function flagRays(candidates: Candidates, blobs: readonly SaturatedBlob[], fwhmPx: number): void {
  const index = makeCellIndex(candidates.xPx, candidates.yPx, 64);
  for (const blob of blobs) {
    const neighbours = listNeighbours(candidates, index, blob, fwhmPx);
    const knots = neighbours.filter(({ isKnot }) => isKnot);
    for (const knot of knots) {
      const alike = knots.filter((other) => measureAcross(knot, other) < 0.75 * fwhmPx);
      if (alike.length < FEWEST_KNOTS) continue;
      const farthest = alike.reduce((most, { distance }) => Math.max(most, distance), 0);
      for (const other of neighbours) {
        if (other.distance <= farthest && measureAcross(knot, other) < 0.75 * fwhmPx) {
          candidates.flags[other.row] |= STAR_FLAGS.trail;
        }
      }
    }
  }
}

/** Whether a trail is the ray of a saturated star: its line runs through one. */
export function isRay(trail: Trail, blobs: readonly SaturatedBlob[]): boolean {
  return blobs.some(
    ({ x, y }) => Math.abs(x * trail.cos + y * trail.sin - trail.distancePx) < trail.halfWidthPx / 2,
  );
}
