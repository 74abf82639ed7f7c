import type { Candidates } from "./candidates.ts";
import { makeCellIndex } from "./cell-index.ts";
import type { Trail } from "./flag-trails.ts";
import type { SaturatedBlob } from "./merge-saturated.ts";
import { STAR_FLAGS } from "./star-table.ts";

/** Rays of a saturated star are looked for out to so many radii of its flat top. Chosen on drawn frames. */
const REACH_RADII = 60;
/** A knot on a ray is drawn out at least so much, and points at the star within this angle, degrees. */
const LEAST_RIDGE = 0.35;
const ANGLE_TOLERANCE_DEG = 15;
/** Knots line up along few directions: so many within a degree or a star's width tell a ray from strangers. */
const FEWEST_KNOTS = 4;

/**
 * Sets STAR_FLAGS.trail on the pieces of diffraction spikes and reflections: objects drawn out towards a saturated star
 * near by, at least four of them in one direction from it. They are light of that star, not stars.
 */
export function flagRays(candidates: Candidates, blobs: readonly SaturatedBlob[], fwhmPx: number): void {
  const index = makeCellIndex(candidates.xPx, candidates.yPx, 64);
  for (const { x, y, radiusPx } of blobs) {
    const knots: { row: number; distance: number; direction: number }[] = [];
    index.visit(x, y, Math.max(REACH_RADII * radiusPx, 10 * fwhmPx), (row) => {
      const dx = candidates.xPx[row] - x;
      const dy = candidates.yPx[row] - y;
      const distance = Math.hypot(dx, dy);
      if (distance < 1.5 * radiusPx || (candidates.flags[row] & STAR_FLAGS.saturated) !== 0) return;
      if (candidates.ridge[row] < LEAST_RIDGE) return;
      const direction = (Math.atan2(-dy, dx) * 180) / Math.PI;
      const off = Math.abs(((candidates.ridgeAngleDeg[row] - direction + 450) % 180) - 90);
      if (off <= ANGLE_TOLERANCE_DEG) knots.push({ row, distance, direction });
    });
    for (const knot of knots) {
      // Both arms of a spike count: directions are compared without sense.
      const alike = knots.filter(({ direction, distance }) => {
        const apart = Math.abs(((direction - knot.direction + 450) % 180) - 90);
        const across = Math.min(distance, knot.distance) * Math.sin((apart * Math.PI) / 180);
        return apart < 1 || across < fwhmPx;
      });
      if (alike.length >= FEWEST_KNOTS) candidates.flags[knot.row] |= STAR_FLAGS.trail;
    }
  }
}

/** Whether a trail is the ray of a saturated star: it runs through or out of one. */
export function isRay(trail: Trail, blobs: readonly SaturatedBlob[]): boolean {
  return blobs.some(({ x, y, radiusPx }) => {
    const off = Math.abs(x * trail.cos + y * trail.sin - trail.distancePx);
    const place = -x * trail.sin + y * trail.cos;
    const reach = Math.min(REACH_RADII * radiusPx, trail.toPx - trail.fromPx);
    return off < trail.halfWidthPx && place > trail.fromPx - reach && place < trail.toPx + reach;
  });
}
