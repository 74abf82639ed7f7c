import { estimateMadSigma, median, quantile } from "../maths/statistics.ts";
import { listUsableStars, STAR_FLAGS, type StarTable } from "../stars/star-table.ts";
import type { ShapeSamples } from "./field-model.ts";
import { locateOnSensor, type SensorGeometry } from "./geometry.ts";

/**
 * Errors below which a single star is not trusted: colour, neighbours and what the model leaves out differ from star to
 * star. Chosen from drawn frames, where bright stars scatter by about this much about a smooth field.
 */
const leastError = { lnWidth: 0.006, e: 0.008 };

/**
 * Share of what a star's elongation has beyond the frame's common one, by which its e and its ln(width) may be off: the
 * more a star is deformed, the less an ellipse describes it. From drawn stars, whose fitted elongation falls short
 * of the half-maximum contour's by 5 to 25 % where it is above 0.1.
 */
const deformedShare = { lnWidth: 0.03, e: 0.1 };

/**
 * Share of the growth of ln(width) over the frame's narrow stars by which ln(width) and e may be off: a wave-optics model
 * of one wavelength, and one profile for stars of a width, are wrong together by 1 to 2 % where stars are twice as wide
 * (from drawn and measured frames). Beyond `most` it grows no further.
 */
const grownShare = { lnWidth: 0.025, e: 0.03, most: 1, narrow: 0.1 };

/** Where a table brings no errors (imported ones may not): a moderately good star's. */
const assumedError = { lnWidth: 0.03, e: 0.04 };

/** Huber's constant for the means within a cell (95 % efficiency; Huber 1981). */
const huberLimit = 1.345;

interface Star {
  x: number;
  y: number;
  shape: [number, number, number];
  error: [number, number];
  /** As the table states them, nothing added. */
  stated: [number, number];
}

function readError(error: number, assumed: number): number {
  return Number.isFinite(error) && error > 0 ? error : assumed;
}

/** Usable, resolved stars with finite shapes, in millimetres and micrometres. */
function listShapes(stars: StarTable, geometry: SensorGeometry): Star[] {
  const listed: Star[] = [];
  for (const row of listUsableStars(stars)) {
    if ((stars.flags[row] & STAR_FLAGS.unresolved) !== 0) continue;
    const lnWidth =
      Math.log(stars.fwhmMajorPx[row] * stars.fwhmMinorPx[row]) / 2 + Math.log(geometry.umPerPx);
    const { x, y } = locateOnSensor(geometry, stars.xPx[row], stars.yPx[row]);
    const shape: Star["shape"] = [lnWidth, stars.e1[row], stars.e2[row]];
    if (!shape.every(Number.isFinite) || !Number.isFinite(x + y)) continue;
    const stated: Star["stated"] = [
      readError(stars.fwhmErr[row], assumedError.lnWidth),
      readError(stars.eErr[row], assumedError.e),
    ];
    const error: Star["error"] = [
      Math.hypot(stated[0], leastError.lnWidth),
      Math.hypot(stated[1], leastError.e),
    ];
    listed.push({ x, y, shape, error, stated });
  }
  return listed;
}

function collectSamples(rows: readonly (Star & { count: number })[]): ShapeSamples {
  return {
    xMm: Float64Array.from(rows, (row) => row.x),
    yMm: Float64Array.from(rows, (row) => row.y),
    shape: Float64Array.from(rows.flatMap((row) => row.shape)),
    error: Float64Array.from(rows.flatMap((row) => row.error)),
    noise: Float64Array.from(rows.flatMap((row) => row.stated)),
    count: Float64Array.from(rows, (row) => row.count),
  };
}

/** Weighted mean with outliers held back, and its error: the larger of what the stars' errors and their scatter say. */
function averageComponent(values: readonly number[], errors: readonly number[]): [number, number] {
  let middle = median(values);
  const scale = Math.max(1, estimateMadSigma(values.map((value, i) => (value - middle) / errors[i])));
  let information = 0;
  for (let pass = 0; pass < 4; pass++) {
    let [sum, total] = [0, 0];
    information = 0;
    for (let i = 0; i < values.length; i++) {
      const off = Math.abs(values[i] - middle) / (errors[i] * scale);
      if (off > 6) continue;
      const held = off <= huberLimit ? 1 : huberLimit / off;
      const weight = held / (errors[i] * errors[i]);
      sum += weight * values[i];
      total += weight;
      information += weight;
    }
    if (total > 0) middle = sum / total;
  }
  return [middle, scale / Math.sqrt(information)];
}

function averageCell(stars: readonly Star[]): Star & { count: number } {
  const component = (k: number): [number, number] =>
    averageComponent(
      stars.map((star) => star.shape[k]),
      stars.map((star) => star.error[k === 0 ? 0 : 1]),
    );
  let [x, y, total] = [0, 0, 0];
  for (const star of stars) {
    const weight = 1 / (star.error[0] * star.error[0]);
    x += weight * star.x;
    y += weight * star.y;
    total += weight;
  }
  const [lnWidth, e1, e2] = [component(0), component(1), component(2)];
  return {
    x: x / total,
    y: y / total,
    shape: [lnWidth[0], e1[0], e2[0]],
    error: [Math.hypot(lnWidth[1], 0.001), Math.hypot((e1[1] + e2[1]) / 2, 0.001)],
    stated: [0, 1].map((k) => 1 / Math.sqrt(stars.reduce((sum, star) => sum + star.stated[k] ** -2, 0))) as [
      number,
      number,
    ],
    count: stars.length,
  };
}

/** Cells with fewer stars give the stars one by one: a mean of two has no scatter to be judged by. */
const fewestToAverage = 4;

/**
 * What the field model is fitted to: the stars themselves where there are at most `most`, else robust means over a
 * fine mesh of about that many cells (over a cell of the mesh widths change by a few percent, and linearly).
 */
export function sampleShapes(stars: StarTable, geometry: SensorGeometry, most: number): ShapeSamples {
  const samples = collectCells(listShapes(stars, geometry), geometry, most);
  const n = samples.count.length;
  const [common1, common2] = [1, 2].map((k) => median(samples.shape.filter((_, i) => i % 3 === k)));
  const narrow = quantile(
    samples.shape.filter((_, i) => i % 3 === 0),
    grownShare.narrow,
  );
  for (let i = 0; i < n; i++) {
    const beyond = Math.hypot(samples.shape[3 * i + 1] - common1, samples.shape[3 * i + 2] - common2);
    const grown = Math.min(grownShare.most, Math.max(0, samples.shape[3 * i] - narrow));
    samples.error[2 * i] = Math.hypot(
      samples.error[2 * i],
      deformedShare.lnWidth * beyond,
      grownShare.lnWidth * grown,
    );
    samples.error[2 * i + 1] = Math.hypot(
      samples.error[2 * i + 1],
      deformedShare.e * beyond,
      grownShare.e * grown,
    );
  }
  return samples;
}

function collectCells(listed: readonly Star[], geometry: SensorGeometry, most: number): ShapeSamples {
  if (listed.length <= most) return collectSamples(listed.map((star) => ({ ...star, count: 1 })));
  const columns = Math.max(
    4,
    Math.round(Math.sqrt((most * geometry.sensorWidthMm) / geometry.sensorHeightMm)),
  );
  const rows = Math.max(4, Math.round(most / columns));
  const cells = new Map<number, Star[]>();
  for (const star of listed) {
    const column = Math.floor((star.x / geometry.sensorWidthMm + 0.5) * columns);
    const row = Math.floor((star.y / geometry.sensorHeightMm + 0.5) * rows);
    const key = Math.max(0, Math.min(columns - 1, column)) + columns * Math.max(0, Math.min(rows - 1, row));
    const cell = cells.get(key);
    if (cell === undefined) cells.set(key, [star]);
    else cell.push(star);
  }
  return collectSamples(
    [...cells.values()].flatMap((cell) =>
      cell.length < fewestToAverage ? cell.map((star) => ({ ...star, count: 1 })) : [averageCell(cell)],
    ),
  );
}
