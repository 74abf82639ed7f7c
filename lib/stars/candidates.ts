/** Objects found by the matched filter, before any profile is fitted: columns of equal length, brightest first. */
export interface Candidates {
  /** Start position, px, pixel centres at integers from 0 at the upper left, y down. */
  xPx: Float64Array;
  yPx: Float64Array;
  /** Highest pixel near the position, background removed, ADU. */
  peakAdu: Float64Array;
  /** Light of a Gaussian of the frame's width that answers as this object does, ADU. */
  fluxAdu: Float64Array;
  /** Answer of the matched filter over its noise in empty sky. */
  snr: Float64Array;
  /** `peakAdu` over the peak that a Gaussian of the frame's width would have: about 1 for stars, more for spikes. */
  sharpness: Float64Array;
  /** 0 for a round peak of the filtered frame, towards 1 on a ridge (a trail): 1 - least / greatest curvature. */
  ridge: Float64Array;
  /** Direction of the ridge, degrees counter-clockwise from +x as displayed (y up), 0 <= angle < 180. */
  ridgeAngleDeg: Float64Array;
  /** Bits of STAR_FLAGS. */
  flags: Uint16Array;
}

export const CANDIDATE_COLUMNS = [
  "xPx",
  "yPx",
  "peakAdu",
  "fluxAdu",
  "snr",
  "sharpness",
  "ridge",
  "ridgeAngleDeg",
] as const satisfies readonly (keyof Candidates)[];

/** `n` rows of zeros. */
export function makeCandidates(n: number): Candidates {
  const columns = Object.fromEntries(CANDIDATE_COLUMNS.map((name) => [name, new Float64Array(n)]));
  return { ...(columns as Omit<Candidates, "flags">), flags: new Uint16Array(n) };
}

/** The rows of `candidates` at `rows`, in that order. */
export function selectCandidates(candidates: Candidates, rows: ArrayLike<number>): Candidates {
  const selected = makeCandidates(rows.length);
  for (let i = 0; i < rows.length; i++) {
    for (const name of CANDIDATE_COLUMNS) selected[name][i] = candidates[name][rows[i]];
    selected.flags[i] = candidates.flags[rows[i]];
  }
  return selected;
}

/** All rows of several tables, one after the other. */
export function joinCandidates(parts: readonly Candidates[]): Candidates {
  const joined = makeCandidates(parts.reduce((n, part) => n + part.xPx.length, 0));
  let offset = 0;
  for (const part of parts) {
    for (const name of CANDIDATE_COLUMNS) joined[name].set(part[name], offset);
    joined.flags.set(part.flags, offset);
    offset += part.xPx.length;
  }
  return joined;
}
