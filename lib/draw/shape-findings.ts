import type { Corner, TestResults } from "../report/results.ts";
import { corners, findWorstCorner, isKnown, zoneNames } from "./words.ts";

/**
 * Radial elongation below which a title says nothing of it: an axis ratio of 0.97, which no one sees in a picture
 * (chosen).
 */
const leastTold = 0.03;

interface DrawnOut {
  corner: Corner;
  radial: number;
}

/** The corner whose radial elongation is surest to differ from zero and largest; null where none does. */
export function findMostDrawnOut(test: TestResults, among: readonly Corner[] = corners): DrawnOut | null {
  let most: DrawnOut | null = null;
  for (const corner of among) {
    const radial = test.zones?.[corner].radial;
    if (!isKnown(radial) || radial.lo * radial.hi <= 0 || Math.abs(radial.value) < leastTold) continue;
    if (most === null || Math.abs(radial.value) > Math.abs(most.radial))
      most = { corner, radial: radial.value };
  }
  return most;
}

type CornerClass = NonNullable<TestResults["diagnosis"]>["corners"][Corner]["class"];

function listJudged(test: TestResults, classes: readonly CornerClass[]): Corner[] {
  return corners.filter((corner) => {
    const judged = test.diagnosis?.corners[corner].class;
    return judged !== undefined && classes.includes(judged);
  });
}

/** Corners of which a title may say that their stars stretch: where the diagnosis says so, or all where there is none. */
function listStretched(test: TestResults): readonly Corner[] {
  return test.diagnosis ? listJudged(test, ["radial", "tangential", "oblique"]) : corners;
}

/** "the upper left, upper right and lower left". */
function nameCorners(list: readonly Corner[]): string {
  const words = list.map((corner) => zoneNames[corner]);
  const last = words.pop() ?? "";
  return words.length === 0 ? `the ${last}` : `the ${words.join(", ")} and ${last}`;
}

/** Where no corner is surely drawn out: all are round, or it is not certain of some. */
function tellRound(test: TestResults): string {
  const unsure = listJudged(test, ["unknown"]);
  if (unsure.length === corners.length) return "Whether the corners’ stars are round is not certain";
  if (unsure.length > 0) return `Stars are round except perhaps in ${nameCorners(unsure)}`;
  return test.diagnosis && listJudged(test, ["round"]).length === corners.length
    ? "Stars are round in all four corners"
    : "No corner shows stars drawn out along or across the radius";
}

/**
 * Where the mount draws all stars out alike, by half as much or more as the surest corner along its radius, a picture of long
 * axes shows that first (chosen). Null where it does not.
 */
function tellTracking(test: TestResults, most: { radial: number } | null): string | null {
  const ellipticity = test.field?.tracking.ellipticity;
  const angle = test.field?.tracking.angle;
  if (test.diagnosis?.tracking.class !== "present" || !isKnown(ellipticity) || !isKnown(angle)) return null;
  if (ellipticity.value < Math.abs(most?.radial ?? 0) / 2) return null;
  return `Tracking draws all stars out alike, along ${angle.value.toFixed(0)} degrees`;
}

/** Title of the shape field: where stars are drawn out and which way, or that nothing stands out. */
export function tellShapes(test: TestResults): string {
  const stretched = listStretched(test);
  const most = findMostDrawnOut(test, stretched);
  const tracking = tellTracking(test, most);
  if (tracking !== null) return tracking;
  if (most === null) {
    const ellipticity = test.zones?.corner.ellipticity;
    return stretched.length > 0 && isKnown(ellipticity) && ellipticity.lo > 0.1
      ? "Corner stars are long, but neither along nor across the radius"
      : tellRound(test);
  }
  const direction = most.radial > 0 ? "along" : "across";
  const others = stretched.filter((corner) => {
    const radial = test.zones?.[corner].radial;
    return (
      corner !== most.corner &&
      isKnown(radial) &&
      Math.abs(radial.value) >= leastTold &&
      radial.lo * radial.hi > 0
    );
  });
  if (others.length === 0) return `Stars stretch ${direction} the radius in the ${zoneNames[most.corner]}`;
  const opposed = others.filter((corner) => (test.zones?.[corner].radial.value ?? 0) * most.radial < 0);
  if (opposed.length === 0)
    return `Stars stretch ${direction} the radius, most in the ${zoneNames[most.corner]}`;
  const against = most.radial > 0 ? "across" : "along";
  const where = opposed.length === 1 ? `the ${zoneNames[opposed[0]]}` : `${opposed.length} other corners`;
  return `Stars stretch ${direction} the radius in the ${zoneNames[most.corner]}, ${against} it in ${where}`;
}

/** Title of the spokes: what becomes of the stars on the way to the worst corner. */
export function tellSpokes(test: TestResults): string {
  const most = findMostDrawnOut(test, listStretched(test));
  const worst = findWorstCorner(test);
  const wider = worst?.significant && worst.widerPercent >= 1 ? worst : null;
  if (most !== null) {
    const grow = wider?.corner === most.corner ? "grow wider and stretch" : "stretch";
    return `Towards the ${zoneNames[most.corner]} stars ${grow} ${most.radial > 0 ? "along" : "across"} the radius`;
  }
  const unsure = listJudged(test, ["unknown"]);
  if (wider !== null) {
    const kept = unsure.includes(wider.corner) ? "" : " but keep their shape";
    return `Towards the ${zoneNames[wider.corner]} stars grow wider${kept}`;
  }
  return `Stars keep their width${unsure.length > 0 ? "" : " and shape"} from the centre to every corner`;
}
