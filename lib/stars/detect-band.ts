import { type Candidates, makeCandidates } from "./candidates.ts";
import { makeFilteredRows, mapOntoGrid } from "./filtered-rows.ts";
import { describePeak, findRowMaxima } from "./local-maxima.ts";
import { FWHM_PER_SIGMA, planFilterGrid } from "./matched-filter.ts";
import { fillMeshRow, sampleMesh } from "./mesh-map.ts";
import type { MeshMap } from "./plane-measurement.ts";
import type { SamplePlane } from "./samples.ts";
import { listRing, standsOut } from "./stand-out.ts";
import type { StarTask } from "./star-task.ts";

export interface DetectBand {
  plane: SamplePlane;
  background: MeshMap;
  noise: MeshMap;
  /** FWHM of the kernel as sampled, px. */
  fwhmPx: number;
  /** Least answer, in units of its noise in empty sky. */
  threshold: number;
  /** Electrons per ADU for the noise of light itself; null: not known. */
  gainElectronsPerAdu: number | null;
  /** Samples at or above are saturated; null: not known. A saturated object need not stand out from its surroundings. */
  saturationAdu: number | null;
  /** Rows [y0, y1) in which a maximum is taken. */
  y0: number;
  y1: number;
}

/** Thresholds follow the noise map in steps of so many rows. */
const THRESHOLD_ROWS = 8;

/** Highest finite sample of the plane in a small box, ADU; -Infinity where there is none. */
export function findPeak(plane: SamplePlane, x: number, y: number, reach: number): number {
  const { samples, widthPx, heightPx, sites } = plane;
  const left = Math.max(0, Math.round(x - reach));
  const right = Math.min(widthPx - 1, Math.round(x + reach));
  const bottom = Math.min(heightPx - 1, Math.round(y + reach));
  let peak = Number.NEGATIVE_INFINITY;
  for (let row = Math.max(0, Math.round(y - reach)); row <= bottom; row++) {
    for (let column = left; column <= right; column++) {
      if (!sites[(column & 1) + 2 * (row & 1)]) continue;
      const value = samples[row * widthPx + column];
      if (value > peak && value < Number.POSITIVE_INFINITY) peak = value;
    }
  }
  return peak;
}

/** Column-wise store that grows. */
function makeStore() {
  const columns: Record<Exclude<keyof Candidates, "flags">, number[]> = {
    xPx: [],
    yPx: [],
    peakAdu: [],
    fluxAdu: [],
    snr: [],
    sharpness: [],
    ridge: [],
    ridgeAngleDeg: [],
  };
  return columns;
}

/**
 * Maxima of the matched filter in rows [y0, y1) of a plane that exceed the threshold and stand out from what is around
 * them, in reading order. Bands put together give exactly what the whole frame gives. No flags are set.
 */
export const detectBandTask: StarTask<DetectBand, Candidates> = {
  name: "detectBand",
  run(job) {
    const { plane, background, noise } = job;
    const grid = planFilterGrid(plane, job.fwhmPx);
    const { binPx, columns } = grid;
    const firstRow = Math.ceil(job.y0 / binPx);
    const endRow = Math.min(grid.rows, Math.ceil(job.y1 / binPx));
    const ring = listRing(job.fwhmPx / binPx);
    const reachRows = ring.reach;
    const rows = makeFilteredRows(plane, grid, background, firstRow - reachRows, 2 * reachRows + 1);
    for (let row = firstRow - reachRows; row < firstRow + reachRows; row++) rows.advance();

    const sitesInBlock = plane.sites.filter(Boolean).length / (binPx > 1 ? 4 / (binPx * binPx) : 4);
    const gridNoise = binPx > 1 ? 1 / Math.sqrt(sitesInBlock) : 1;
    const noiseMap = mapOntoGrid(noise, binPx);
    const { threshold } = rows;
    const found = new Int32Array(columns);
    const store = makeStore();
    let thresholdRow = Number.NaN;
    // The whole kernel's power and that of a Gaussian star under it: what turns an answer into light.
    const sigmaPx = job.fwhmPx / FWHM_PER_SIGMA;
    const starPower = 1 / (4 * Math.PI * sigmaPx * sigmaPx);
    const density = plane.sites.filter(Boolean).length / 4;
    // An even light of L ADU answers with L sqrt(density / starPower) on the grid.
    const lightNoise =
      job.gainElectronsPerAdu === null
        ? 0
        : ((gridNoise * gridNoise) / job.gainElectronsPerAdu) * binPx * Math.sqrt(starPower / density);
    for (let row = firstRow; row < endRow; row++) {
      rows.advance();
      const block = Math.floor(row / THRESHOLD_ROWS);
      if (block !== thresholdRow) {
        thresholdRow = block;
        fillMeshRow(noiseMap, (block + 0.5) * THRESHOLD_ROWS, threshold);
        for (let x = 0; x < columns; x++) threshold[x] *= job.threshold * gridNoise;
      }
      const groups = rows.listGroups(row);
      if (groups.length === 0) continue;
      const above = rows.at(row - 1);
      const middle = rows.at(row);
      const below = rows.at(row + 1);
      const count = findRowMaxima(above, middle, below, threshold, groups, found);
      for (let i = 0; i < count; i++) {
        const column = found[i];
        const answer = middle[column];
        const sigma = threshold[column] / job.threshold;
        const shape = describePeak(above, middle, below, column);
        const x = (column + 0.5) * binPx - 0.5 + shape.dx * binPx;
        const y = (row + 0.5) * binPx - 0.5 + shape.dy * binPx;
        const sky = sampleMesh(background, x, y);
        const peak = findPeak(plane, x, y, Math.max(density < 1 ? 2 : 1, job.fwhmPx / 3));
        const saturated = job.saturationAdu !== null && peak >= job.saturationAdu;
        if (!saturated && !standsOut(ring, rows.at, row, column, answer, sigma, lightNoise, job.threshold))
          continue;
        const flux = answer / gridNoise / Math.sqrt(density * starPower);
        store.xPx.push(x);
        store.yPx.push(y);
        store.peakAdu.push(peak - sky);
        store.fluxAdu.push(flux);
        store.snr.push(answer / sigma);
        store.sharpness.push((peak - sky) / (flux / (2 * Math.PI * sigmaPx * sigmaPx)));
        store.ridge.push(shape.ridge);
        store.ridgeAngleDeg.push(shape.ridgeAngleDeg);
      }
    }
    const candidates = makeCandidates(store.xPx.length);
    for (const [name, values] of Object.entries(store)) candidates[name as keyof typeof store].set(values);
    return candidates;
  },
};
