import { median } from "../maths/statistics.ts";
import { makeStarTable, STAR_FLAGS, type StarTable } from "./star-table.ts";

/** Lengths are averaged in their logarithm, each with the uncertainty of ln(fwhm). */
const lengths = ["hfdPx", "ee80Px", "sampledFwhmPx"] as const;
const plain = ["xPx", "yPx", "fluxAdu", "peakAdu", "backgroundAdu", "chi2"] as const;

/** Floors of the per-frame uncertainty, so that one bright frame does not rule: seeing differs from star to star by about this. */
const lengthFloor = 0.01;
const shapeFloor = 0.01;
/** A measurement this many sigma from its star's median over three or more frames is a mishap, not noise. */
const mishapSigma = 6;

type Column = (frame: number, row: number) => number;

/**
 * What each frame as a whole adds to a column (the night's seeing, a jolt of the mount), from the stars seen in all
 * frames; sums to zero. Without it a star seen only in the worst frame would look worse than its neighbours.
 */
function estimateFrameOffsets(rows: readonly Int32Array[], column: Column): number[] {
  const differences = rows.map((): number[] => []);
  const stars = rows[0]?.length ?? 0;
  for (let star = 0; star < stars; star++) {
    if (rows.some((frame) => frame[star] < 0)) continue;
    const values = rows.map((frame, index) => column(index, frame[star]));
    const middle = values.reduce((sum, value) => sum + value, 0) / values.length;
    if (Number.isFinite(middle))
      values.forEach((value, index) => void differences[index].push(value - middle));
  }
  if (rows.length < 2 || differences[0].length < 5) return rows.map(() => 0);
  const offsets = differences.map((list) => median(list));
  const mean = offsets.reduce((sum, value) => sum + value, 0) / offsets.length;
  return offsets.map((value) => value - mean);
}

interface Average {
  value: number;
  sigma: number;
}

/** Inverse-variance mean; of three or more values, those far from their median are left out. NaN where all are NaN. */
function averageValues(values: readonly number[], sigmas: readonly number[], floor: number): Average {
  const middle = values.length > 2 ? median(values) : Number.NaN;
  let weightSum = 0;
  let sum = 0;
  let inverse = 0;
  for (let i = 0; i < values.length; i++) {
    const sigma = Number.isFinite(sigmas[i]) ? sigmas[i] : 0;
    const spread = Math.hypot(sigma, floor);
    if (!Number.isFinite(values[i]) || Math.abs(values[i] - middle) > mishapSigma * spread) continue;
    const weight = spread > 0 ? 1 / (spread * spread) : 1;
    weightSum += weight;
    sum += weight * values[i];
    inverse += (weight * sigma) ** 2;
  }
  return { value: sum / weightSum, sigma: Math.sqrt(inverse) / weightSum };
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
  const count = rows[0]?.length ?? 0;
  const light = new Float64Array(count);
  for (let star = 0; star < count; star++) {
    const seen = frames.flatMap((table, frame) =>
      rows[frame][star] < 0 ? [] : [table.fluxAdu[rows[frame][star]]],
    );
    light[star] = seen.reduce((sum, value) => sum + value, 0) / seen.length;
  }
  const order = Int32Array.from(light.keys()).sort(
    (left, right) => light[right] - light[left] || left - right,
  );
  const stars = makeStarTable(count);
  const frameCount = new Uint16Array(count);

  const lnFwhm: Column = (frame, row) =>
    Math.log(frames[frame].fwhmMajorPx[row] * frames[frame].fwhmMinorPx[row]) / 2;
  const offsets = {
    fwhm: estimateFrameOffsets(rows, lnFwhm),
    e1: estimateFrameOffsets(rows, (frame, row) => frames[frame].e1[row]),
    e2: estimateFrameOffsets(rows, (frame, row) => frames[frame].e2[row]),
    lengths: lengths.map((name) =>
      estimateFrameOffsets(rows, (frame, row) => Math.log(frames[frame][name][row])),
    ),
  };

  for (let place = 0; place < count; place++) {
    const seen = [...rows.keys()].filter((frame) => rows[frame][order[place]] >= 0);
    const at = (frame: number) => rows[frame][order[place]];
    const collect = (column: Column) => seen.map((frame) => column(frame, at(frame)));
    const widthSigmas = collect((frame, row) => frames[frame].fwhmErr[row]);
    const shapeSigmas = collect((frame, row) => frames[frame].eErr[row]);
    const fwhm = averageValues(
      collect((frame, row) => lnFwhm(frame, row) - offsets.fwhm[frame]),
      widthSigmas,
      lengthFloor,
    );
    const e1 = averageValues(
      collect((frame, row) => frames[frame].e1[row] - offsets.e1[frame]),
      shapeSigmas,
      shapeFloor,
    );
    const e2 = averageValues(
      collect((frame, row) => frames[frame].e2[row] - offsets.e2[frame]),
      shapeSigmas,
      shapeFloor,
    );
    frameCount[place] = seen.length;
    writeShape(stars, place, Math.exp(fwhm.value), e1.value, e2.value);
    stars.fwhmErr[place] = fwhm.sigma;
    stars.eErr[place] = Number.isNaN(shapeSigmas[0]) ? Number.NaN : e1.sigma;
    lengths.forEach((name, index) => {
      const values = collect(
        (frame, row) => Math.log(frames[frame][name][row]) - offsets.lengths[index][frame],
      );
      stars[name][place] = Math.exp(averageValues(values, widthSigmas, lengthFloor).value);
    });
    for (const name of plain) {
      stars[name][place] =
        collect((frame, row) => frames[frame][name][row]).reduce((a, b) => a + b, 0) / seen.length;
    }
    stars.snr[place] = Math.hypot(...collect((frame, row) => frames[frame].snr[row]));
    for (const name of ["xErrPx", "yErrPx", "fluxErrAdu"] as const) {
      stars[name][place] = Math.hypot(...collect((frame, row) => frames[frame][name][row])) / seen.length;
    }
    const unresolved = collect((frame, row) => frames[frame].flags[row] & STAR_FLAGS.unresolved);
    if (unresolved.filter((flag) => flag !== 0).length * 2 > seen.length)
      stars.flags[place] = STAR_FLAGS.unresolved;
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
