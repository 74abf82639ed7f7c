import { fitLeastSquares } from "../maths/least-squares.ts";
import { median } from "../maths/statistics.ts";
import { fitHyperbola } from "./sweep-hyperbola.ts";
import { shared, sharedCount } from "./sweep-model.ts";
import { type SweepStars, splitWidths } from "./sweep-stars.ts";

export interface PlacedFrame {
  positionUm: number;
  stars: SweepStars;
}

/** Fewest stars of a frame in a cell for a median to start from. */
const fewestInCell = 3;

interface CellStart {
  x: number;
  y: number;
  /** Positions of least width: of all of it, along and across the radius. */
  best: number;
  along: number;
  across: number;
  least: number;
}

/**
 * Where the fit of the sweep starts: hyperbolas through the median widths of nine cells of the sensor, and the plane,
 * curvature and astigmatism through their best positions.
 */
export function startSweep(
  frames: readonly PlacedFrame[],
  sensor: { widthMm: number; heightMm: number },
): { reference: number; parameters: Float64Array } {
  const cells = [-1, 0, 1].flatMap((column) =>
    [-1, 0, 1].flatMap((row) => startCell(frames, sensor, column, row) ?? []),
  );
  const parameters = new Float64Array(sharedCount);
  const sharpest = findSharpest(frames);
  parameters[shared.width] = Math.log(
    cells.length > 0 ? median(cells.map(({ least }) => least)) : sharpest.width,
  );
  const reference = cells.length > 0 ? median(cells.map(({ best }) => best)) : sharpest.positionUm;
  const design = cells.flatMap(({ x, y }) => [1, x, y, x * x + y * y]);
  const fit = fitLeastSquares(
    design,
    cells.map(({ best }) => reference - best),
    4,
  );
  if (fit !== null && cells.length > 5) {
    parameters.set(fit.coefficients, shared.height);
    const apart = cells.filter(({ along, across }) => Number.isFinite(along + across));
    const sum = apart.reduce(
      (total, { x, y, along, across }) => total + ((across - along) / 2) * (x * x + y * y),
      0,
    );
    const squares = apart.reduce((total, { x, y }) => total + (x * x + y * y) ** 2, 0);
    if (squares > 0) parameters[shared.astigmatism] = sum / squares;
  }
  return { reference, parameters };
}

function findSharpest(frames: readonly PlacedFrame[]): { positionUm: number; width: number } {
  const list = frames.map(({ positionUm, stars }) => ({
    positionUm,
    width: Math.exp(median(stars.logWidth)),
  }));
  return list.reduce((best, frame) => (frame.width < best.width ? frame : best));
}

function startCell(
  frames: readonly PlacedFrame[],
  sensor: { widthMm: number; heightMm: number },
  column: number,
  row: number,
): CellStart | null {
  const [x, y] = [(column * sensor.widthMm) / 3, (row * sensor.heightMm) / 3];
  const direction = Math.atan2(y, x);
  const [whole, along, across]: [number[], number[], number[]] = [[], [], []];
  for (const { stars } of frames) {
    const members = Array.from(stars.xMm.keys()).filter(
      (k) =>
        Math.abs(stars.xMm[k] - x) < sensor.widthMm / 6 && Math.abs(stars.yMm[k] - y) < sensor.heightMm / 6,
    );
    const few = members.length < fewestInCell;
    const parts = members.map((k) => splitWidths(stars, k, direction));
    whole.push(few ? Number.NaN : Math.exp(median(members.map((k) => stars.logWidth[k]))));
    along.push(few ? Number.NaN : median(parts.map((part) => part.along)));
    across.push(few ? Number.NaN : median(parts.map((part) => part.across)));
  }
  const positions = frames.map(({ positionUm }) => positionUm);
  const curve = fitHyperbola(positions, whole);
  if (curve === null) return null;
  const outer = column !== 0 || row !== 0;
  return {
    x,
    y,
    best: curve.best,
    least: curve.least,
    along: outer ? (fitHyperbola(positions, along)?.best ?? Number.NaN) : Number.NaN,
    across: outer ? (fitHyperbola(positions, across)?.best ?? Number.NaN) : Number.NaN,
  };
}
