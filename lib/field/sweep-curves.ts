import { makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import type { TestResults, Zone } from "../report/results.ts";
import { CORNERS, nameZone } from "./geometry.ts";
import { computeMedianInterval } from "./median-interval.ts";
import type { SolvedSweep } from "./sweep-field.ts";
import { computeFoci, predictShape, type Shape } from "./sweep-model.ts";
import { splitWidths } from "./sweep-stars.ts";

type Curves = NonNullable<NonNullable<TestResults["sweep"]>["curves"]>;

const shown: readonly Zone[] = ["centre", ...CORNERS];
const curvePoints = 33;

/** Median widths along and across the radius in the centre and the corners at each position, and the fitted curves. */
export function listSweepCurves(sweep: SolvedSweep, used: readonly { positionUm: number }[]): Curves {
  const { problem, solution, sensor } = sweep;
  const half = Math.hypot(sensor.widthMm, sensor.heightMm) / 2;
  const ends = used.map(({ positionUm }) => positionUm);
  const [low, high] = [Math.min(...ends), Math.max(...ends)];
  const origin = used[0].positionUm - problem.frames[0].state.shiftUm;
  return shown.map((zone) => {
    const curve: Curves[number] = {
      zone,
      positionUm: [],
      along: [],
      across: [],
      fitted: { positionUm: [], alongUm: [], acrossUm: [] },
    };
    const place = { x: 0, y: 0, count: 0 };
    problem.frames.forEach(({ stars }, f) => {
      const members = Array.from(stars.xMm.keys()).filter(
        (row) =>
          nameZone(Math.hypot(stars.xMm[row], stars.yMm[row]) / half, stars.xMm[row], stars.yMm[row]) ===
          zone,
      );
      for (const row of members) {
        place.x += stars.xMm[row];
        place.y += stars.yMm[row];
        place.count++;
      }
      const parts = members.map((row) => splitWidths(stars, row, Math.atan2(stars.yMm[row], stars.xMm[row])));
      curve.positionUm.push(used[f].positionUm);
      curve.along.push(stateMedian(parts.map(({ along }) => along)));
      curve.across.push(stateMedian(parts.map(({ across }) => across)));
    });
    if (place.count === 0) return curve;
    const foci = computeFoci(solution.parameters, place.x / place.count, place.y / place.count);
    const shape: Shape = [0, 0, 0];
    // In the meridian's own axes e1 is the elongation along the radius.
    const meridian = { ...foci, dx: 1, dy: 0, r2: 1 };
    for (let k = 0; k < curvePoints; k++) {
      const positionUm = low + ((high - low) * k) / (curvePoints - 1);
      const state = { shiftUm: positionUm - origin, inward: 0 };
      predictShape(
        problem.grid,
        problem.focalRatio,
        solution.parameters,
        [0, 0, 0, 0],
        state,
        meridian,
        shape,
      );
      const mean = Math.exp(2 * shape[0]) / Math.sqrt(Math.max(1e-6, 1 - shape[1] ** 2));
      curve.fitted.positionUm.push(Number(positionUm.toFixed(2)));
      curve.fitted.alongUm.push(Number(Math.sqrt(mean * (1 + shape[1])).toFixed(3)));
      curve.fitted.acrossUm.push(Number(Math.sqrt(mean * (1 - shape[1])).toFixed(3)));
    }
    return curve;
  });
}

function stateMedian(values: readonly number[]): Quantity {
  const interval = computeMedianInterval(Float64Array.from(values).sort());
  if (interval === null) return makeUnknown("um", "Fewer than six stars of the zone in this frame.");
  return makeMeasured(interval.median, "um", interval.lo, interval.hi, interval.n);
}
