import type { Quantity } from "../maths/quantity.ts";
import { makeMeasured } from "../maths/quantity.ts";
import { remember } from "../maths/remember.ts";
import type { TestResults } from "../report/results.ts";
import type { StarTable } from "../stars/star-table.ts";
import { prepareBlurGrid } from "./blur-width.ts";
import type { SensorGeometry } from "./geometry.ts";
import { reachOfFrames } from "./sweep-cell.ts";
import { listSweepCurves } from "./sweep-curves.ts";
import { measureCorners, measureMesh, measureSweepZones } from "./sweep-field.ts";
import { judgeDirection, judgeSweep, solveWithRecord, type UsedFrame } from "./sweep-judge.ts";
import { shared, sharedCount } from "./sweep-model.ts";
import type { SweepProblem, SweepSolution } from "./sweep-solve.ts";
import { listSweepStars } from "./sweep-stars.ts";
import { startSweep } from "./sweep-start.ts";

export type SweepResults = NonNullable<TestResults["sweep"]>;

export interface SweepFrame {
  file: string;
  /** Sensor's position, um, positive away from the telescope. */
  positionUm: number;
  stars: StarTable;
}

export interface SweepRequest {
  /** In the order in which they were taken. */
  frames: readonly SweepFrame[];
  geometry: SensorGeometry;
  /** As used, corrector included. */
  focalRatio: number;
  /** Diameter of the central obstruction over the aperture's. */
  obstruction: number;
  wavelengthUm: number;
}

/** Fewest different positions, and fewest usable stars of a frame (issue's terms). */
export const FEWEST_POSITIONS = 4;
export const FEWEST_STARS = 30;
/** More add nothing to the intervals, which the frames rule, and cost time. */
const mostStars = 500;

/**
 * The focal surface from a sweep of focus: every star of every frame at once, by a forward model of the width along and
 * across the radius (`predictShape`), and beside it each zone and each cell of a mesh by its own stars.
 *
 * Heights are um over the sensor where it stands at `bestPosition`, positive towards the telescope: the position at
 * which the mean over the sensor's area of the two foci's squared distances from the sensor is least. Intervals carry
 * the frames' differences (see `solveSweep`). Yields null with a sentence where fewer than four positions are usable.
 */
export function fitSweep(request: SweepRequest): { sweep: SweepResults | null; warnings: string[] } {
  return remember("field/sweep", fitAnew, request);
}

function fitAnew(request: SweepRequest): { sweep: SweepResults | null; warnings: string[] } {
  const { geometry, focalRatio, obstruction, wavelengthUm } = request;
  const warnings: string[] = [];
  const listed = request.frames.map((frame, order) => ({
    ...frame,
    inward: order > 0 && frame.positionUm < request.frames[order - 1].positionUm ? 1 : 0,
    shapes: listSweepStars(frame.stars, geometry, mostStars),
  }));
  const used = listed.filter(({ shapes }) => shapes.xMm.length >= FEWEST_STARS);
  for (const { file, shapes } of listed) {
    if (shapes.xMm.length >= FEWEST_STARS) continue;
    warnings.push(
      `Sweep: ${file} has ${shapes.xMm.length} usable stars; ${FEWEST_STARS} are needed, so it was left out.`,
    );
  }
  const positions = new Set(used.map(({ positionUm }) => positionUm));
  if (positions.size < FEWEST_POSITIONS) {
    warnings.push(
      `The sweep has ${positions.size} usable positions; a focal surface needs ${FEWEST_POSITIONS}, better nine on both sides of focus.`,
    );
    return { sweep: null, warnings };
  }
  const sensor = { widthMm: geometry.sensorWidthMm, heightMm: geometry.sensorHeightMm };
  const { reference, parameters } = startSweep(
    used.map(({ positionUm, shapes }) => ({ positionUm, stars: shapes })),
    sensor,
  );
  const direction = judgeDirection(used);
  const problem: SweepProblem = {
    focalRatio,
    grid: prepareBlurGrid(obstruction, (wavelengthUm * focalRatio) / Math.exp(parameters[shared.width])),
    frames: used.map(({ positionUm, shapes, inward }) => ({
      stars: shapes,
      state: { shiftUm: positionUm - reference, inward: direction.mixed ? inward : 0 },
    })),
  };
  const solution = solveWithRecord(problem, parameters, new Set(direction.mixed ? [] : [shared.lag]));
  if (!Number.isFinite(solution.covariance[0])) {
    warnings.push(
      "The sweep's widths do not follow a curve with a least width: no focal surface follows from it.",
    );
    return { sweep: null, warnings };
  }
  const sweep = assemble(problem, solution, reference, sensor, used, direction);
  return { sweep, warnings: [...warnings, ...judgeSweep(sweep, used)] };
}

/** Value and interval of a number that follows from the shared parameters by the gradient given. */
export function propagate(
  solution: SweepSolution,
  value: number,
  unit: Quantity["unit"],
  gradient: Partial<Record<keyof typeof shared, number>>,
  frames: number,
): Quantity {
  const terms = Object.entries(gradient) as [keyof typeof shared, number][];
  let variance = 0;
  for (const [a, byA] of terms) {
    for (const [b, byB] of terms) {
      variance += byA * byB * solution.covariance[shared[a] * sharedCount + shared[b]];
    }
  }
  const reach = reachOfFrames(frames) * Math.sqrt(Math.max(0, variance));
  return makeMeasured(value, unit, value - reach, value + reach, frames);
}

function assemble(
  problem: SweepProblem,
  solution: SweepSolution,
  reference: number,
  sensor: { widthMm: number; heightMm: number },
  used: readonly UsedFrame[],
  direction: { mixed: boolean; sentence: string },
): SweepResults {
  const p = solution.parameters;
  const frames = used.length;
  const read = (name: keyof typeof shared, unit: Quantity["unit"]) =>
    propagate(solution, p[shared[name]], unit, { [name]: 1 }, frames);
  const [x0, y0, c] = [p[shared.centreX], p[shared.centreY], p[shared.curvature]];
  // Mean of |r - r0|^2 over the sensor's rectangle.
  const meanSquare = (sensor.widthMm ** 2 + sensor.heightMm ** 2) / 12 + x0 * x0 + y0 * y0;
  const meanHeight = p[shared.height] + c * meanSquare;
  const best = reference - meanHeight;
  const centreGap = x0 * x0 + y0 * y0 - meanSquare;
  const diagonal = Math.hypot(sensor.widthMm, sensor.heightMm);
  const size = Math.hypot(p[shared.tiltX], p[shared.tiltY]);
  const [ux, uy] = size > 0 ? [p[shared.tiltX] / size, p[shared.tiltY] / size] : [1, 0];
  const across = propagate(
    solution,
    size * diagonal,
    "um",
    { tiltX: ux * diagonal, tiltY: uy * diagonal },
    frames,
  );
  const frame = { problem, solution, sensor, shiftUm: -meanHeight, frames };
  return {
    defocus: propagate(solution, c * centreGap, "um", { curvature: centreGap }, frames),
    tiltX: read("tiltX", "um/mm"),
    tiltY: read("tiltY", "um/mm"),
    tiltAcross: across.value === null ? across : { ...across, lo: Math.max(0, across.lo) },
    tiltDirection: stateDirection(solution, size, [ux, uy], frames),
    curvature: read("curvature", "um/mm2"),
    astigmatism: read("astigmatism", "um/mm2"),
    bestPosition: propagate(
      solution,
      best,
      "um",
      { height: -1, curvature: -meanSquare, centreX: -2 * c * x0, centreY: -2 * c * y0 },
      frames,
    ),
    zones: measureSweepZones(frame, used, reference),
    centre: { x: read("centreX", "mm"), y: read("centreY", "mm") },
    corners: measureCorners(frame),
    steepness: scaleLog(read("steepness", "ratio")),
    lag: direction.mixed ? read("lag", "um") : null,
    focusedWidth: scaleLog(read("width", "ratio"), "um"),
    mesh: measureMesh(frame),
    frames: used.map(({ file, positionUm }, k) => ({
      file,
      positionUm,
      stars: problem.frames[k].stars.xMm.length,
    })),
    curves: listSweepCurves(frame, used),
    notes: [direction.sentence],
  };
}

function scaleLog(quantity: Quantity, unit: Quantity["unit"] = "ratio"): Quantity {
  if (quantity.value === null) return quantity;
  const { value, lo, hi, n } = quantity;
  return makeMeasured(Math.exp(value), unit, Math.exp(lo), Math.exp(hi), n);
}

function stateDirection(
  solution: SweepSolution,
  size: number,
  [ux, uy]: readonly [number, number],
  frames: number,
): Quantity {
  const degrees = 180 / Math.PI;
  const along = propagate(solution, size, "um/mm", { tiltX: ux, tiltY: uy }, frames);
  if (along.value === null || along.lo <= 0) {
    return { value: null, unit: "deg", why: "The tilt is not told apart from none, so it has no direction." };
  }
  const across = propagate(solution, 0, "um/mm", { tiltX: -uy, tiltY: ux }, frames);
  const reach = across.value === null ? 180 : Math.atan2(across.hi, size) * degrees;
  const angle = Math.atan2(uy, ux) * degrees;
  return makeMeasured(angle, "deg", angle - reach, angle + reach, frames);
}
