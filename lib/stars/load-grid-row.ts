import type { FilterGrid } from "./matched-filter.ts";
import type { SamplePlane } from "./samples.ts";

/**
 * Writes grid row `row` of a plane, less the pedestal, to out[first...]: 0 at sites of other colours, NaN where a value is
 * missing. Blocks hold the mean of their sites.
 */
export function loadGridRow(
  plane: SamplePlane,
  grid: FilterGrid,
  row: number,
  pedestal: number,
  out: Float32Array,
  first: number,
): void {
  const { samples, widthPx } = plane;
  const { binPx, columns, sites } = grid;
  if (binPx > 1) {
    const from = row * binPx * widthPx;
    const offsets = listSiteOffsets(plane, binPx);
    if (samples instanceof Uint16Array)
      averageWhole(samples, from, binPx, offsets, columns, pedestal, out, first);
    else averageFloat(samples, from, binPx, offsets, columns, pedestal, out, first);
    return;
  }
  const from = row * widthPx;
  const even = sites[2 * (row & 1)];
  const odd = sites[1 + 2 * (row & 1)];
  out.fill(0, first, first + columns);
  if (!even && !odd) return;
  const step = even && odd ? 1 : 2;
  const start = even ? 0 : 1;
  if (samples instanceof Uint16Array) copyWhole(samples, from, start, step, columns, pedestal, out, first);
  else copyFloat(samples, from, start, step, columns, pedestal, out, first);
}

/** Where the plane's sites of a block lie from its first pixel; every block starts on an even pixel where that matters. */
function listSiteOffsets({ widthPx, sites }: SamplePlane, binPx: number): Int32Array {
  const offsets: number[] = [];
  for (let dy = 0; dy < binPx; dy++) {
    for (let dx = 0; dx < binPx; dx++) if (sites[(dx & 1) + 2 * (dy & 1)]) offsets.push(dy * widthPx + dx);
  }
  return Int32Array.from(offsets);
}

// One loop for each kind of sample: a loop that meets both kinds runs several times slower.

function copyWhole(
  samples: Uint16Array,
  from: number,
  start: number,
  step: number,
  columns: number,
  pedestal: number,
  out: Float32Array,
  first: number,
): void {
  for (let x = start; x < columns; x += step) out[first + x] = samples[from + x] - pedestal;
}

/** Infinite samples become NaN, as missing ones are. */
function copyFloat(
  samples: Float32Array,
  from: number,
  start: number,
  step: number,
  columns: number,
  pedestal: number,
  out: Float32Array,
  first: number,
): void {
  for (let x = start; x < columns; x += step) {
    const value = samples[from + x];
    out[first + x] = value - value === 0 ? value - pedestal : Number.NaN;
  }
}

function averageWhole(
  samples: Uint16Array,
  from: number,
  binPx: number,
  offsets: Int32Array,
  columns: number,
  pedestal: number,
  out: Float32Array,
  first: number,
): void {
  const n = offsets.length;
  for (let x = 0, at = from; x < columns; x++, at += binPx) {
    let sum = 0;
    for (let k = 0; k < n; k++) sum += samples[at + offsets[k]];
    out[first + x] = sum / n - pedestal;
  }
}

function averageFloat(
  samples: Float32Array,
  from: number,
  binPx: number,
  offsets: Int32Array,
  columns: number,
  pedestal: number,
  out: Float32Array,
  first: number,
): void {
  const n = offsets.length;
  for (let x = 0, at = from; x < columns; x++, at += binPx) {
    let sum = 0;
    for (let k = 0; k < n; k++) sum += samples[at + offsets[k]];
    out[first + x] = sum - sum === 0 ? sum / n - pedestal : Number.NaN;
  }
}
