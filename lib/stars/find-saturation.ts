import type { Candidates } from "./candidates.ts";
import { sampleMesh } from "./mesh-map.ts";
import type { MeshMap } from "./plane-measurement.ts";
import type { SamplePlane } from "./samples.ts";

/** Fewest samples at the top that make a pile. */
const LEAST_PILE = 12;
/** How many times more samples than the equally deep layers beneath hold on average. */
const PILE_CONTRAST = 5;
/** Objects looked at, the highest first. */
const MOST_OBJECTS = 120;
/** Part of the pile that may lie below the level. */
const FLANK_SHARE = 0.1;
/** Depth of the top layer, part of the way from the sky to the highest sample. */
const LAYER = 0.005;

/**
 * Level at which samples pile up at the top of the values (ADU, lowest of the pile but for stragglers), looked for in the brightest
 * objects; null where they thin out towards the top as unsaturated stars do.
 */
export function findSaturation(
  plane: SamplePlane,
  candidates: Candidates,
  background: MeshMap,
): number | null {
  const { samples, widthPx, heightPx, sites } = plane;
  const peaks = candidates.peakAdu.map(
    (peak, i) => peak + sampleMesh(background, candidates.xPx[i], candidates.yPx[i]),
  );
  const top = peaks.reduce((highest, peak) => Math.max(highest, peak), Number.NEGATIVE_INFINITY);
  const sky = background.values.toSorted()[background.values.length >> 1];
  const depth = Math.max(LAYER * (top - sky), samples instanceof Uint16Array ? 0.5 : 0);
  // Only objects that reach into the layers compared have anything to say.
  const high = Array.from(peaks.keys()).filter((i) => peaks[i] >= top - 11 * depth);
  const seen = new Set<number>();
  const piled: number[] = [];
  let beneath = 0;
  for (const i of high.sort((a, b) => peaks[b] - peaks[a]).slice(0, MOST_OBJECTS)) {
    const x = Math.round(candidates.xPx[i]);
    const y = Math.round(candidates.yPx[i]);
    for (let row = Math.max(0, y - 6); row <= Math.min(heightPx - 1, y + 6); row++) {
      for (let column = Math.max(0, x - 6); column <= Math.min(widthPx - 1, x + 6); column++) {
        const at = row * widthPx + column;
        if (!(samples[at] >= top - 11 * depth) || !sites[(column & 1) + 2 * (row & 1)] || seen.has(at))
          continue;
        seen.add(at);
        // A sample above the objects' peaks lies outside their cores: a hot pixel in a wing belongs to the pile too.
        if (samples[at] >= top - depth) piled.push(samples[at]);
        else beneath++;
      }
    }
  }
  const pile = piled.length;
  if (pile < LEAST_PILE || pile <= PILE_CONTRAST * (beneath / 10)) return null;
  // A few samples of the pile's layer are stars' flanks that happen to end there.
  return piled.sort((a, b) => a - b)[Math.floor(FLANK_SHARE * pile)];
}
