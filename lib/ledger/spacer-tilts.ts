import { formatDate } from "../maths/format-date.ts";
import { makeMeasured, type Quantity } from "../maths/quantity.ts";
import type { LedgerNight } from "./night.ts";

/** A change of the spacers after which the sensor sits at another tilt. */
export interface SpacerTilt {
  before: string;
  after: string;
  /** um across the diagonal: size of the change of the tilt, a vector. */
  change: Quantity;
  sentence: string;
}

/** Smaller changes are within what re-seating a thread leaves; common practice, no source. */
const leastTold = 10;
/** 95 % point of the radius of a normal vector in the plane: sqrt(5.991). */
const planeReach = 2.447746830680816;

function isSameStack(a: LedgerNight, b: LedgerNight): boolean {
  if (a.spacersMm === null || b.spacersMm === null) {
    return Math.abs((a.spacingMm ?? 0) - (b.spacingMm ?? 0)) < 0.005;
  }
  return [...a.spacersMm].sort().join() === [...b.spacersMm].sort().join();
}

/**
 * Changes of spacers that brought in a tilt: from one night to the next with another stack, at the same camera angle, the
 * tilt's vector moved by more than both intervals allow. A tilt that came with a spacer is the spacer's (or its
 * seat's), not the optics'. Needs nights whose signs are told.
 */
export function listSpacerTilts(nights: readonly LedgerNight[], diagonalMm: number): SpacerTilt[] {
  const known = nights.filter(({ surface }) => surface !== null);
  return known.slice(1).flatMap((after, k): SpacerTilt[] => {
    const before = known[k];
    if (isSameStack(before, after) || before.cameraAngleDeg !== after.cameraAngleDeg) return [];
    const change = compareTilts(before, after, diagonalMm);
    if (!change.told) return [];
    const earlier = known[k - 1];
    const cameBack =
      earlier !== undefined &&
      earlier.cameraAngleDeg === after.cameraAngleDeg &&
      compareTilts(earlier, before, diagonalMm).told &&
      !compareTilts(earlier, after, diagonalMm).told;
    // What one spacer brought in goes with it: that is one event, told once.
    if (cameBack) return [];
    const next = known[k + 2];
    const wentAgain =
      next !== undefined &&
      next.cameraAngleDeg === before.cameraAngleDeg &&
      compareTilts(after, next, diagonalMm).told &&
      !compareTilts(before, next, diagonalMm).told;
    const { um, reach } = change;
    return [
      {
        before: before.test,
        after: after.test,
        change: makeMeasured(um, "um", Math.max(0, um - reach), um + reach, 2),
        sentence: `With the spacers of ${formatDate(after.date)} the tilt changed, size and direction together, by ${um.toFixed(0)} um across the diagonal against ${formatDate(before.date)}: the spacer or its seat brought it in, not the optics.${wentAgain ? ` It went again with the next change, on ${formatDate(next.date)}.` : ""}`,
      },
    ];
  });
}

/** Whether two nights' tilts differ beyond their intervals, and by how much across the diagonal, um. */
function compareTilts(before: LedgerNight, after: LedgerNight, diagonalMm: number) {
  const [old, fresh] = [before.surface!.tilt, after.surface!.tilt];
  const [dx, dy] = [fresh.x.value - old.x.value, fresh.y.value - old.y.value];
  const size = Math.hypot(dx, dy);
  const sigmaX = Math.hypot(fresh.x.sigma, old.x.sigma);
  const sigmaY = Math.hypot(fresh.y.sigma, old.y.sigma);
  const um = size * diagonalMm;
  const told = Math.hypot(dx / sigmaX, dy / sigmaY) > planeReach && um > leastTold;
  const reach = size === 0 ? 0 : 1.96 * Math.hypot(sigmaX * (dx / size), sigmaY * (dy / size)) * diagonalMm;
  return { told, um, reach };
}
