import { FITTED, type FitFrame, type FitJob, fitStarsTask } from "./fit-stars.ts";
import { PARAMETERS } from "./star-model.ts";
import type { StarTaskRunner } from "./star-task.ts";

/** Stars whose light is taken off before a fit: packed rows, and for each star to be fitted the rows that reach it. */
export interface Others {
  stars: Float64Array;
  of: readonly (readonly number[])[];
}

const nobody: Others = { stars: new Float64Array(0), of: [] };

/** More jobs than threads, so that one with wide stars does not keep the others waiting. */
const jobsAFrame = 8;

/** Deals stars out to jobs, every eighth to the same one: bright and faint ones are spread evenly. */
export function dealJobs(
  frame: FitFrame,
  starts: Float64Array,
  others: Others = nobody,
): { jobs: FitJob[]; rowsOf: number[][] } {
  const count = starts.length / PARAMETERS;
  const jobs: FitJob[] = [];
  const rowsOf: number[][] = [];
  for (let first = 0; first < Math.min(jobsAFrame, count); first++) {
    const rows: number[] = [];
    for (let row = first; row < count; row += jobsAFrame) rows.push(row);
    const part = new Float64Array(rows.length * PARAMETERS);
    rows.forEach((row, i) => {
      part.set(starts.subarray(row * PARAMETERS, (row + 1) * PARAMETERS), i * PARAMETERS);
    });
    jobs.push({
      frame,
      starts: part,
      others: others.stars,
      othersOf: rows.map((row) => others.of[row] ?? []),
    });
    rowsOf.push(rows);
  }
  return { jobs, rowsOf };
}

/** Fits all stars of `starts` (packed rows) on however many threads; result rows of FITTED.length in the same order. */
export async function fitStars(
  frame: FitFrame,
  starts: Float64Array,
  run: StarTaskRunner,
  others: Others = nobody,
): Promise<Float64Array> {
  const { jobs, rowsOf } = dealJobs(frame, starts, others);
  return gatherRows(await run(fitStarsTask, jobs), rowsOf);
}

/** Puts the rows that jobs gave back into the order of the stars that were dealt. */
export function gatherRows(
  parts: readonly Float64Array[],
  rowsOf: readonly (readonly number[])[],
): Float64Array {
  const count = rowsOf.reduce((sum, rows) => sum + rows.length, 0);
  const fitted = new Float64Array(count * FITTED.length);
  parts.forEach((part, job) => {
    rowsOf[job].forEach((row, i) => {
      fitted.set(part.subarray(i * FITTED.length, (i + 1) * FITTED.length), row * FITTED.length);
    });
  });
  return fitted;
}

/** The stars' seven parameters out of fitted rows, as starts for a next fit. */
export function takeStarts(fitted: Float64Array, rows: readonly number[]): Float64Array {
  const starts = new Float64Array(rows.length * PARAMETERS);
  rows.forEach((row, i) => {
    starts.set(fitted.subarray(row * FITTED.length, row * FITTED.length + PARAMETERS), i * PARAMETERS);
  });
  return starts;
}
