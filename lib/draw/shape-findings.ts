import type { Corner, TestResults } from "../report/results.ts";
import { corners, findWorstCorner, isKnown, zoneNames } from "./words.ts";

/**
 * Radial elongation below which a title says nothing of it: an axis ratio of 0.97, which no one sees in a picture
 * (chosen).
 */
const leastTold = 0.03;

/** The corner whose radial elongation is surest to differ from zero and largest; null where none does. */
export function findMostDrawnOut(test: TestResults): { corner: Corner; radial: number } | null {
  let most: { corner: Corner; radial: number } | null = null;
  for (const corner of corners) {
    const radial = test.zones?.[corner].radial;
    if (!isKnown(radial) || radial.lo * radial.hi <= 0 || Math.abs(radial.value) < leastTold) continue;
    if (most === null || Math.abs(radial.value) > Math.abs(most.radial))
      most = { corner, radial: radial.value };
  }
  return most;
}

/** Title of the shape field: where stars are drawn out and which way, or that nothing stands out. */
export function tellShapes(test: TestResults): string {
  const most = findMostDrawnOut(test);
  if (most === null) {
    const ellipticity = test.zones?.corner.ellipticity;
    return isKnown(ellipticity) && ellipticity.lo > 0.1
      ? "Corner stars are long, but neither along nor across the radius"
      : "No corner shows stars drawn out along or across the radius";
  }
  const direction = most.radial > 0 ? "along" : "across";
  const others = corners.filter((corner) => {
    const radial = test.zones?.[corner].radial;
    return (
      corner !== most.corner &&
      isKnown(radial) &&
      Math.abs(radial.value) >= leastTold &&
      radial.lo * radial.hi > 0
    );
  });
  const opposed = others.filter((corner) => (test.zones?.[corner].radial.value ?? 0) * most.radial < 0);
  if (opposed.length === 0)
    return `Stars stretch ${direction} the radius, most in the ${zoneNames[most.corner]}`;
  const against = most.radial > 0 ? "across" : "along";
  const where = opposed.length === 1 ? `the ${zoneNames[opposed[0]]}` : `${opposed.length} other corners`;
  return `Stars stretch ${direction} the radius in the ${zoneNames[most.corner]}, ${against} it in ${where}`;
}

/** Title of the spokes: what becomes of the stars on the way to the worst corner. */
export function tellSpokes(test: TestResults): string {
  const most = findMostDrawnOut(test);
  const worst = findWorstCorner(test);
  const wider = worst?.significant && worst.widerPercent >= 1 ? worst : null;
  if (most !== null) {
    const grow = wider?.corner === most.corner ? "grow wider and stretch" : "stretch";
    return `Towards the ${zoneNames[most.corner]} stars ${grow} ${most.radial > 0 ? "along" : "across"} the radius`;
  }
  if (wider !== null) return `Towards the ${zoneNames[wider.corner]} stars grow wider but keep their shape`;
  return "Stars keep their width and shape from the centre to every corner";
}
