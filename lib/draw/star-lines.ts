import type { TestResults } from "../report/results.ts";

/** A star, or the mean of a cell of stars, as a short line: middle in mm on the sensor, ellipticity, angle. */
export interface StarLine {
  xMm: number;
  yMm: number;
  ellipticity: number;
  angleDeg: number;
  /** Stars it stands for. */
  stars: number;
  /** Where it is drawn: at the star, or in the middle of that part of its cell which lies on the sensor. */
  drawnAt: { xMm: number; yMm: number };
}

type StarField = NonNullable<TestResults["starField"]>;

/** Above this many stars single lines would overlap at the printed size (chosen by looking at figures). */
export const mostSingleStars = 700;

/** Cells along the longer side (chosen by looking at figures: lines stand clear of each other, and a cell of 1,500 stars holds five). */
const cellsAlongLongSide = 20;

/** Middle of that part of a cell, counted from the sensor's centre, which lies on the sensor. */
function findMiddle(index: number, cellMm: number, sizeMm: number): number {
  const half = sizeMm / 2;
  return (Math.max(-half, index * cellMm) + Math.min(half, (index + 1) * cellMm)) / 2;
}

function usableRows(field: StarField): number[] {
  return field.xMm
    .map((_, k) => k)
    .filter((k) =>
      [field.xMm[k], field.yMm[k], field.ellipticity[k], field.angleDeg[k]].every(Number.isFinite),
    );
}

/** Spin-2 size of an ellipticity 1 - b/a: (a2 - b2) / (a2 + b2). */
function toSpin(ellipticity: number): number {
  const q = 1 - ellipticity;
  return (1 - q * q) / (1 + q * q);
}

function fromSpin(e: number): number {
  return 1 - Math.sqrt((1 - e) / (1 + e));
}

/** Sums over the stars of a square of the sensor; column and row count from its centre. */
interface Cell {
  column: number;
  row: number;
  x: number;
  y: number;
  e1: number;
  e2: number;
  n: number;
}

/**
 * The lines of a shape field: star by star up to `mostSingleStars`, else means of e1 and e2 in square cells, in which
 * chance elongations cancel and common ones stay. Rows with a number that is not finite are left out.
 */
export function listStarLines(field: StarField, sensor: TestResults["sensor"]): readonly StarLine[] {
  const before = listed.get(field);
  if (before?.sensor === sensor) return before.lines;
  const lines = listAnew(field, sensor);
  listed.set(field, { sensor, lines });
  return lines;
}

/** Every shape field of a train asks for the lines of all its tests. */
const listed = new WeakMap<StarField, { sensor: TestResults["sensor"]; lines: readonly StarLine[] }>();

function listAnew(field: StarField, sensor: TestResults["sensor"]): StarLine[] {
  const rows = usableRows(field);
  if (rows.length <= mostSingleStars) {
    return rows.map((k) => ({
      xMm: field.xMm[k],
      yMm: field.yMm[k],
      ellipticity: field.ellipticity[k],
      angleDeg: field.angleDeg[k],
      stars: 1,
      drawnAt: { xMm: field.xMm[k], yMm: field.yMm[k] },
    }));
  }
  const cellMm = Math.max(sensor.widthMm, sensor.heightMm) / cellsAlongLongSide;
  const cells = new Map<string, Cell>();
  for (const k of rows) {
    const [column, row] = [Math.floor(field.xMm[k] / cellMm), Math.floor(field.yMm[k] / cellMm)];
    const key = `${column} ${row}`;
    const cell = cells.get(key) ?? { column, row, x: 0, y: 0, e1: 0, e2: 0, n: 0 };
    const e = toSpin(field.ellipticity[k]);
    const twice = (2 * field.angleDeg[k] * Math.PI) / 180;
    cell.x += field.xMm[k];
    cell.y += field.yMm[k];
    cell.e1 += e * Math.cos(twice);
    cell.e2 += e * Math.sin(twice);
    cell.n += 1;
    cells.set(key, cell);
  }
  return [...cells.values()].map(({ column, row, x, y, e1, e2, n }) => ({
    xMm: x / n,
    yMm: y / n,
    ellipticity: fromSpin(Math.hypot(e1, e2) / n),
    angleDeg: ((((Math.atan2(e2, e1) * 90) / Math.PI) % 180) + 180) % 180,
    stars: n,
    drawnAt: {
      xMm: findMiddle(column, cellMm, sensor.widthMm),
      yMm: findMiddle(row, cellMm, sensor.heightMm),
    },
  }));
}

/**
 * Ends of a line in the picture, whose y runs down: `unitsPerMm` places the middle about `centre`, `unitsPerEllipticity`
 * gives the length.
 */
export function layStarLine(
  line: StarLine,
  centre: { x: number; y: number },
  unitsPerMm: number,
  unitsPerEllipticity: number,
): { x1: number; y1: number; x2: number; y2: number } {
  const x = centre.x + line.drawnAt.xMm * unitsPerMm;
  const y = centre.y - line.drawnAt.yMm * unitsPerMm;
  const half = (line.ellipticity * unitsPerEllipticity) / 2;
  const angle = (line.angleDeg * Math.PI) / 180;
  const dx = half * Math.cos(angle);
  const dy = -half * Math.sin(angle);
  return { x1: x - dx, y1: y - dy, x2: x + dx, y2: y + dy };
}
