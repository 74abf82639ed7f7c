/** Grid offsets around a maximum, beyond most of its light. */
export interface Ring {
  rows: Int32Array;
  columns: Int32Array;
  /** Rows above and below that the ring reaches. */
  reach: number;
}

/** Sixteen points at 1.7 FWHM (3 grid steps at least), where a Gaussian's filtered answer is down to 2 %. */
export function listRing(fwhm: number): Ring {
  const radius = Math.max(3, 1.7 * fwhm);
  const rows = new Int32Array(16);
  const columns = new Int32Array(16);
  for (let i = 0; i < 16; i++) {
    rows[i] = Math.round(radius * Math.sin((i * Math.PI) / 8));
    columns[i] = Math.round(radius * Math.cos((i * Math.PI) / 8));
  }
  return { rows, columns, reach: Math.round(radius) };
}

/** Part of the detection threshold by which a maximum must rise above its ring: the ring's median has noise of its own. */
const LEAST_RISE = 0.75;
/** And in units of the ring's own scatter: 3.5, chosen so that halo noise and spikes of bright stars do not pass. */
const RISE_OVER_SCATTER = 3.5;

/**
 * Or, on the flank of another star, by its own part: the pass to anything higher must lie so much of the answer lower,
 * and by this many thresholds. Noise on bright light is a few per cent of it.
 */
const LEAST_PASS_SHARE = 0.15;
const LEAST_PASS_THRESHOLDS = 1.5;

const values = new Float64Array(16);

/** Height of the lowest straight way out to the ring: over its sixteen directions the highest of the lowest points. */
function findPass(ring: Ring, rowOf: (row: number) => Float32Array, row: number, column: number): number {
  let pass = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < 16; i++) {
    let lowest = Number.POSITIVE_INFINITY;
    const steps = Math.max(Math.abs(ring.rows[i]), Math.abs(ring.columns[i]));
    for (let k = 1; k <= steps; k++) {
      const at = column + Math.round((ring.columns[i] * k) / steps);
      const line = rowOf(row + Math.round((ring.rows[i] * k) / steps));
      if (at < 0 || at >= line.length) break;
      lowest = Math.min(lowest, line[at]);
    }
    if (lowest < Number.POSITIVE_INFINITY) pass = Math.max(pass, lowest);
  }
  return pass;
}

/**
 * Whether a maximum rises above the ring around it by more than noise: in the halo of a bright star, in nebulosity and
 * on its edges the answer is above the sky's threshold everywhere, and noise makes maxima of it. `lightNoise`: variance
 * (ADU2 of a grid sample) that one ADU of light adds, 0 if not known.
 */
export function standsOut(
  ring: Ring,
  rowOf: (row: number) => Float32Array,
  row: number,
  column: number,
  answer: number,
  sigma: number,
  lightNoise: number,
  threshold: number,
): boolean {
  let n = 0;
  for (let i = 0; i < 16; i++) {
    const at = column + ring.columns[i];
    const line = rowOf(row + ring.rows[i]);
    if (at < 0 || at >= line.length || line[at] === Number.NEGATIVE_INFINITY) continue;
    values[n++] = line[at];
  }
  if (n < 4) return true;
  const sorted = values.subarray(0, n).sort();
  const median = (sorted[(n - 1) >> 1] + sorted[n >> 1]) / 2;
  const rise = answer - median;
  const local = Math.sqrt(sigma * sigma + lightNoise * Math.max(0, median));
  if (rise >= LEAST_RISE * threshold * local) {
    // Half the spread between the quartiles, in sigmas of a normal law; the upper one may be a neighbour's light.
    const scatter = (median - sorted[n >> 2]) / 0.6745;
    if (rise > RISE_OVER_SCATTER * scatter) return true;
  }
  const descent = answer - findPass(ring, rowOf, row, column);
  return descent > Math.max(LEAST_PASS_SHARE * answer, LEAST_PASS_THRESHOLDS * threshold * local);
}
