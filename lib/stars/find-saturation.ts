import type { Candidates } from "./candidates.ts";
import { sampleMesh } from "./mesh-map.ts";
import type { MeshMap } from "./plane-measurement.ts";
import type { SamplePlane } from "./samples.ts";

/** Fewest samples at the top that make a pile. */
const LEAST_PILE = 12;
/** How many times more samples than the equally deep layers beneath hold on average. */
const PILE_CONTRAST = 5;
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
  const order = Array.from(candidates.peakAdu.keys()).sort(
    (a, b) => candidates.peakAdu[b] - candidates.peakAdu[a],
  );
  const seen = new Set<number>();
  const values: number[] = [];
  let sky = 0;
  for (const i of order.slice(0, 300)) {
    const x = Math.round(candidates.xPx[i]);
    const y = Math.round(candidates.yPx[i]);
    sky += sampleMesh(background, x, y) / Math.min(300, order.length);
    for (let row = Math.max(0, y - 6); row <= Math.min(heightPx - 1, y + 6); row++) {
      for (let column = Math.max(0, x - 6); column <= Math.min(widthPx - 1, x + 6); column++) {
        const at = row * widthPx + column;
        if (!sites[(column & 1) + 2 * (row & 1)] || seen.has(at) || !Number.isFinite(samples[at])) continue;
        seen.add(at);
        values.push(samples[at]);
      }
    }
  }
  if (values.length < LEAST_PILE) return null;
  let top = Number.NEGATIVE_INFINITY;
  for (const value of values) top = Math.max(top, value);
  const depth = Math.max(LAYER * (top - sky), samples instanceof Uint16Array ? 0.5 : 0);
  let pile = 0;
  let beneath = 0;
  const piled: number[] = [];
  for (const value of values) {
    if (value >= top - depth) {
      pile++;
      piled.push(value);
    } else if (value >= top - 11 * depth) beneath++;
  }
  if (pile < LEAST_PILE || pile <= PILE_CONTRAST * (beneath / 10)) return null;
  // A few samples of the pile's layer are stars' flanks that happen to end there.
  return piled.sort((a, b) => a - b)[Math.floor(FLANK_SHARE * pile)];
}
