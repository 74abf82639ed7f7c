import { makeExact, makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import type { Corner, TestResults, Zone } from "../report/results.ts";
import { CORNERS, nameZone, ZONES } from "./geometry.ts";
import { type CellFocus, fitCell, reachOfFrames } from "./sweep-cell.ts";
import { computeFoci, predictShape, type Shape, shared } from "./sweep-model.ts";
import type { SweepProblem, SweepSolution } from "./sweep-solve.ts";

type SweepResults = NonNullable<TestResults["sweep"]>;

/** A solved sweep and where the sensor is taken to stand: `shiftUm` beyond the reference position. */
export interface SolvedSweep {
  problem: SweepProblem;
  solution: SweepSolution;
  sensor: { widthMm: number; heightMm: number };
  shiftUm: number;
  frames: number;
}

function isInZone(zone: Zone, sensor: { widthMm: number; heightMm: number }) {
  const half = Math.hypot(sensor.widthMm, sensor.heightMm) / 2;
  return (xMm: number, yMm: number): boolean => {
    const found = nameZone(Math.hypot(xMm, yMm) / half, xMm, yMm);
    return found === zone || (zone === "corner" && (CORNERS as readonly string[]).includes(found));
  };
}

function startAt({ solution }: SolvedSweep, xMm: number, yMm: number): { height: number; half: number } {
  const { tangential, sagittal } = computeFoci(solution.parameters, xMm, yMm);
  return { height: (tangential + sagittal) / 2, half: (tangential - sagittal) / 2 };
}

/** A place in the middle of each zone, from which its fit starts. */
function placeZone(zone: Zone, sensor: { widthMm: number; heightMm: number }): [number, number] {
  const share = { centre: 0, middle: 0.4, outer: 0.68, corner: 0.88 }[zone as string] ?? 0.88;
  const sx = zone.endsWith("Left") ? -1 : 1;
  const sy = zone.startsWith("lower") ? -1 : 1;
  return [(sx * share * sensor.widthMm) / 2, (sy * share * sensor.heightMm) / 2];
}

/**
 * Best focus of each zone from its own stars, relative to that of the centre zone: mean, along and across the radius.
 * A zone whose best focus lies beyond the positions of the sweep says so instead.
 */
export function measureSweepZones(
  sweep: SolvedSweep,
  used: readonly { positionUm: number }[],
  reference: number,
): SweepResults["zones"] {
  const ends = used.map(({ positionUm }) => positionUm);
  const range = { low: Math.min(...ends), high: Math.max(...ends) };
  const fitOne = (zone: Zone) =>
    fitCell(
      sweep.problem,
      sweep.solution,
      isInZone(zone, sweep.sensor),
      startAt(sweep, ...placeZone(zone, sweep.sensor)),
    );
  const centre = fitOne("centre");
  return Object.fromEntries(
    ZONES.map((zone) => [
      zone,
      stateZone(zone === "centre" ? centre : fitOne(zone), centre, zone, range, reference),
    ]),
  ) as SweepResults["zones"];
}

function stateZone(
  cell: CellFocus | null,
  centre: CellFocus | null,
  zone: Zone,
  range: { low: number; high: number },
  reference: number,
): SweepResults["zones"][Zone] {
  const refuse = (why: string) => {
    const unknown = makeUnknown("um", why);
    return { best: unknown, alongRadius: unknown, acrossRadius: unknown };
  };
  if (centre === null) return refuse("The centre zone has too few stars over the sweep to count from.");
  if (cell === null) return refuse("Fewer than four frames of the sweep have stars in this zone.");
  const position = reference - cell.height;
  if (position < range.low || position > range.high) {
    const way = position < range.low ? "inwards" : "outwards";
    return refuse(`The sweep ends before this zone's best focus: go on ${way}.`);
  }
  const reach = reachOfFrames(cell.frames);
  const state = (height: number, variance: number): Quantity => {
    const half = reach * Math.sqrt(variance);
    const value = height - centre.height;
    return makeMeasured(value, "um", value - half, value + half, cell.stars);
  };
  const both = cell.heightError ** 2 + (zone === "centre" ? 0 : centre.heightError ** 2);
  const mixed = 2 * cell.correlation * cell.heightError * cell.halfError;
  return {
    best:
      zone === "centre"
        ? makeExact(0, "um", { source: "heights count from here" })
        : state(cell.height, both),
    alongRadius: state(cell.height + cell.half, both + cell.halfError ** 2 + mixed),
    acrossRadius: state(cell.height - cell.half, both + cell.halfError ** 2 - mixed),
  };
}

/** Width of a star in the middle of the frames' nights at heights given, um. */
function predictWidth({ problem, solution }: SolvedSweep, tangential: number, sagittal: number): number {
  const shape: Shape = [0, 0, 0];
  const still = { shiftUm: 0, inward: 0 };
  const foci = { tangential, sagittal, dx: 1, dy: 0, r2: 1 };
  predictShape(problem.grid, problem.focalRatio, solution.parameters, [0, 0, 0, 0], still, foci, shape);
  return Math.exp(shape[0]);
}

/** Place of a corner zone's middle: 0.9 of the half-diagonal. */
const cornerShare = 0.9;

/** What the best common focus costs each corner, at 0.9 of the half-diagonal. */
export function measureCorners(sweep: SolvedSweep): NonNullable<SweepResults["corners"]> {
  const { solution, sensor, shiftUm, frames } = sweep;
  const entries = CORNERS.map((corner): [Corner, { outOfFocus: Quantity; cost: Quantity }] => {
    const sx = corner.endsWith("Left") ? -1 : 1;
    const sy = corner.startsWith("lower") ? -1 : 1;
    const [x, y] = [(sx * cornerShare * sensor.widthMm) / 2, (sy * cornerShare * sensor.heightMm) / 2];
    const { height, half } = startAt(sweep, x, y);
    const over = height + shiftUm;
    const dx = x - solution.parameters[shared.centreX];
    const dy = y - solution.parameters[shared.centreY];
    const error = readHeightError(solution, x, y, dx * dx + dy * dy, sensor);
    const reach = reachOfFrames(frames) * error;
    const own = predictWidth(sweep, half, -half);
    const ratio = (away: number) => predictWidth(sweep, away + half, away - half) / own;
    const ends = [ratio(over - reach), ratio(over + reach)];
    const crosses = Math.abs(over) < reach;
    return [
      corner,
      {
        outOfFocus: makeMeasured(over, "um", over - reach, over + reach, frames),
        cost: makeMeasured(
          ratio(over),
          "ratio",
          crosses ? Math.min(1, ...ends) : Math.min(...ends),
          Math.max(...ends),
          frames,
        ),
      },
    ];
  });
  return Object.fromEntries(entries) as NonNullable<SweepResults["corners"]>;
}

/** Standard error of the mean surface at a point over the sensor's mean: what the common height does cancels. */
function readHeightError(
  solution: SweepSolution,
  x: number,
  y: number,
  r2: number,
  sensor: { widthMm: number; heightMm: number },
): number {
  const size = Math.sqrt(solution.covariance.length);
  const mean = (sensor.widthMm ** 2 + sensor.heightMm ** 2) / 12;
  const gradient = [
    [shared.tiltX, x],
    [shared.tiltY, y],
    [shared.curvature, r2 - mean],
    [shared.centreX, -2 * solution.parameters[shared.curvature] * x],
    [shared.centreY, -2 * solution.parameters[shared.curvature] * y],
  ];
  let variance = 0;
  for (const [a, byA] of gradient) {
    for (const [b, byB] of gradient) variance += byA * byB * solution.covariance[a * size + b];
  }
  return Math.sqrt(Math.max(0, variance));
}

const meshColumns = 9;
const meshRows = 6;

/** The mean surface cell by cell from each cell's own stars, and how far it lies from the fitted one (rms). */
export function measureMesh(sweep: SolvedSweep): NonNullable<SweepResults["mesh"]> {
  const { sensor, shiftUm } = sweep;
  const mesh = {
    xMm: [] as number[],
    yMm: [] as number[],
    heightUm: [] as number[],
    errorUm: [] as number[],
  };
  let squares = 0;
  const round = (value: number) => Number(value.toFixed(3));
  for (let column = 0; column < meshColumns; column++) {
    for (let row = 0; row < meshRows; row++) {
      const left = sensor.widthMm * (column / meshColumns - 0.5);
      const foot = sensor.heightMm * (row / meshRows - 0.5);
      const [right, top] = [left + sensor.widthMm / meshColumns, foot + sensor.heightMm / meshRows];
      const cell = fitCell(
        sweep.problem,
        sweep.solution,
        (x, y) => x >= left && x < right && y >= foot && y < top,
        startAt(sweep, (left + right) / 2, (foot + top) / 2),
      );
      if (cell === null || !Number.isFinite(cell.heightError)) continue;
      mesh.xMm.push(round(cell.xMm));
      mesh.yMm.push(round(cell.yMm));
      mesh.heightUm.push(round(cell.height + shiftUm));
      mesh.errorUm.push(round(cell.heightError));
      squares += (cell.height - startAt(sweep, cell.xMm, cell.yMm).height) ** 2;
    }
  }
  const count = mesh.xMm.length;
  const rms = Math.sqrt(squares / count);
  // Relative error of an rms of n values is 1 / sqrt(2 n).
  const reach = (1.96 * rms) / Math.sqrt(2 * count);
  const residual =
    count < 6
      ? makeUnknown("um", "Fewer than six cells have stars enough of their own.")
      : makeMeasured(rms, "um", Math.max(0, rms - reach), rms + reach, count);
  return { ...mesh, residual };
}
