import { median } from "../maths/statistics.ts";
import { makeStarTable, type STAR_COLUMNS, STAR_FLAGS, type StarTable } from "./star-table.ts";

/** Lengths are averaged in their logarithm, each with the uncertainty of ln(fwhm). */
const lengths = ["hfdPx", "ee80Px", "sampledFwhmPx"] as const;
const errors = ["xErrPx", "yErrPx", "fluxErrAdu"] as const;
const plain = ["xPx", "yPx", "fluxAdu", "peakAdu", "backgroundAdu", "chi2"] as const;

/** Floors of the per-frame uncertainty, so that one bright frame does not rule: seeing differs from star to star by about this. */
const lengthFloor = 0.01;
const shapeFloor = 0.01;
/** A measurement this many sigma from its star's median over three or more frames is a mishap, not noise. */
const mishapSigma = 6;

/** One number for each star of each frame. */
type FrameColumns = readonly Float64Array[];

/**
 * What each frame as a whole adds to a column (the night's seeing, a jolt of the mount), from the stars seen in all
 * frames; sums to zero. Without it a star seen only in the worst frame would look worse than its neighbours.
 */
function estimateFrameOffsets(rows: readonly Int32Array[], columns: FrameColumns): number[] {
  const frames = rows.length;
  const differences = rows.map((): number[] => []);
  for (let star = 0; star < (rows[0]?.length ?? 0); star++) {
    let sum = 0;
    for (let frame = 0; frame < frames; frame++) {
      sum += rows[frame][star] < 0 ? Number.NaN : columns[frame][rows[frame][star]];
    }
    if (!Number.isFinite(sum)) continue;
    for (let frame = 0; frame < frames; frame++) {
      differences[frame].push(columns[frame][rows[frame][star]] - sum / frames);
    }
  }
  if (frames < 2 || differences[0].length < 5) return rows.map(() => 0);
  const offsets = differences.map((list) => median(list));
  const mean = offsets.reduce((sum, value) => sum + value, 0) / frames;
  return offsets.map((value) => value - mean);
}

interface Averages {
  value: Float64Array;
  sigma: Float64Array;
}

/** Median of the first `count` numbers, which it puts in order: there are as many as there are frames. */
function sortForMedian(numbers: Float64Array, count: number): number {
  for (let i = 1; i < count; i++) {
    const value = numbers[i];
    let j = i;
    for (; j > 0 && numbers[j - 1] > value; j--) numbers[j] = numbers[j - 1];
    numbers[j] = value;
  }
  const half = count >> 1;
  return count % 2 === 1 ? numbers[half] : (numbers[half - 1] + numbers[half]) / 2;
}

/**
 * Inverse-variance mean of a column over the frames that have the star, each frame's own offset taken off; of three or
 * more values those far from their median are left out. NaN where no frame has a value.
 */
function averageColumn(
  rows: readonly Int32Array[],
  columns: FrameColumns,
  sigmas: FrameColumns,
  floor: number,
): Averages {
  const offsets = estimateFrameOffsets(rows, columns);
  const stars = rows[0]?.length ?? 0;
  const averages = { value: new Float64Array(stars), sigma: new Float64Array(stars) };
  const sorted = new Float64Array(rows.length);
  for (let star = 0; star < stars; star++) {
    let count = 0;
    for (let frame = 0; frame < rows.length; frame++) {
      const value = rows[frame][star] < 0 ? Number.NaN : columns[frame][rows[frame][star]] - offsets[frame];
      if (Number.isFinite(value)) sorted[count++] = value;
    }
    const middle = count > 2 ? sortForMedian(sorted, count) : Number.NaN;
    let [weightSum, sum, inverse] = [0, 0, 0];
    for (let frame = 0; frame < rows.length; frame++) {
      const row = rows[frame][star];
      if (row < 0) continue;
      const value = columns[frame][row] - offsets[frame];
      const sigma = Number.isFinite(sigmas[frame][row]) ? sigmas[frame][row] : 0;
      const spread2 = sigma * sigma + floor * floor;
      if (!Number.isFinite(value) || (value - middle) ** 2 > mishapSigma ** 2 * spread2) continue;
      weightSum += 1 / spread2;
      sum += value / spread2;
      inverse += (sigma / spread2) ** 2;
    }
    averages.value[star] = sum / weightSum;
    averages.sigma[star] = Math.sqrt(inverse) / weightSum;
  }
  return averages;
}

/** Plain mean of a column, or its root of the sum of squares over the number (`errors`) or whole (`signal`). */
function joinColumn(rows: readonly Int32Array[], columns: FrameColumns, how: "mean" | "errors" | "signal") {
  return Float64Array.from(rows[0] ?? [], (_, star) => {
    let [count, sum, squares] = [0, 0, 0];
    for (let frame = 0; frame < rows.length; frame++) {
      if (rows[frame][star] < 0) continue;
      const value = columns[frame][rows[frame][star]];
      count++;
      sum += value;
      squares += value * value;
    }
    return how === "mean" ? sum / count : how === "errors" ? Math.sqrt(squares) / count : Math.sqrt(squares);
  });
}

/**
 * Averages each star over the frames in which it has a row. Widths and elongations are freed of what a frame adds as a
 * whole (mean over the frames kept); uncertainties follow from those of the frames. The star's light is the mean,
 * its signal to noise adds in squares. Brightest first; `order` says which of the rows' places each star had.
 */
export function averageStars(
  frames: readonly StarTable[],
  rows: readonly Int32Array[],
): { stars: StarTable; frameCount: Uint16Array; order: Int32Array } {
  const read = (name: (typeof STAR_COLUMNS)[number]) => frames.map((frame) => frame[name]);
  const light = joinColumn(rows, read("fluxAdu"), "mean");
  const order = Int32Array.from(light.keys()).sort(
    (left, right) => light[right] - light[left] || left - right,
  );
  const ordered = rows.map((column) => Int32Array.from(order, (star) => column[star]));

  const stars = makeStarTable(order.length);
  const widthSigmas = read("fwhmErr");
  const shapeSigmas = read("eErr");
  const lnFwhm = frames.map(({ fwhmMajorPx, fwhmMinorPx }) =>
    fwhmMajorPx.map((major, row) => Math.log(major * fwhmMinorPx[row]) / 2),
  );
  const fwhm = averageColumn(ordered, lnFwhm, widthSigmas, lengthFloor);
  const e1 = averageColumn(ordered, read("e1"), shapeSigmas, shapeFloor);
  const e2 = averageColumn(ordered, read("e2"), shapeSigmas, shapeFloor);
  for (let row = 0; row < order.length; row++) {
    writeShape(stars, row, Math.exp(fwhm.value[row]), e1.value[row], e2.value[row]);
  }
  stars.fwhmErr.set(fwhm.sigma);
  stars.eErr.set(e1.sigma);
  for (const name of lengths) {
    const logarithms = read(name).map((column) => column.map((value) => Math.log(value)));
    stars[name].set(
      averageColumn(ordered, logarithms, widthSigmas, lengthFloor).value.map((value) => Math.exp(value)),
    );
  }
  for (const name of plain) stars[name].set(joinColumn(ordered, read(name), "mean"));
  for (const name of errors) stars[name].set(joinColumn(ordered, read(name), "errors"));
  stars.snr.set(joinColumn(ordered, read("snr"), "signal"));

  const frameCount = new Uint16Array(order.length);
  for (let row = 0; row < order.length; row++) {
    let unresolved = 0;
    for (let frame = 0; frame < frames.length; frame++) {
      if (ordered[frame][row] < 0) continue;
      frameCount[row]++;
      if (frames[frame].flags[ordered[frame][row]] & STAR_FLAGS.unresolved) unresolved++;
    }
    if (unresolved * 2 > frameCount[row]) stars.flags[row] = STAR_FLAGS.unresolved;
  }
  return { stars, frameCount, order };
}

/**
 * Sets major, minor, angle and spin-2 columns of a row from the geometric mean width and the spin-2 pair. Where the pair
 * is not known both axes are the width, and angle and pair stay NaN.
 */
export function writeShape(stars: StarTable, row: number, fwhmPx: number, e1: number, e2: number): void {
  const known = Number.isFinite(e1 + e2);
  const size = known ? Math.min(Math.hypot(e1, e2), 0.9999) : 0;
  const axisRatio = Math.sqrt((1 - size) / (1 + size));
  stars.fwhmMajorPx[row] = fwhmPx / Math.sqrt(axisRatio);
  stars.fwhmMinorPx[row] = fwhmPx * Math.sqrt(axisRatio);
  stars.e1[row] = e1;
  stars.e2[row] = e2;
  const angle = (Math.atan2(e2, e1) * 90) / Math.PI;
  stars.angleDeg[row] = angle < 0 ? angle + 180 : angle;
}
