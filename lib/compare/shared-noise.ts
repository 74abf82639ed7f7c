import { makeNormalRandom, makeRandom } from "../maths/random.ts";
import type { SamplePlane } from "../stars/samples.ts";
import { fillGreen } from "./fill-green.ts";
import { resamplePlane } from "./resample-plane.ts";

/** Side of the patch of noise, px: its scatter tells the factor to about half a percent. */
const patchPx = 320;
const seed = 5;

/**
 * What noise of the light of many pixels there is over what the scatter from pixel to pixel lets expect, after a plane
 * with samples at `sites` was brought to a grid `pixelRatio` as coarse: neighbours that draw on the same samples share
 * their noise. Found by sending a patch of plain noise the same way.
 */
export function measureSharedNoise(sites: SamplePlane["sites"], pixelRatio: number): number {
  const normal = makeNormalRandom(makeRandom(seed));
  const samples = Float32Array.from({ length: patchPx * patchPx }, normal);
  const plane: SamplePlane = { widthPx: patchPx, heightPx: patchPx, samples, sites };
  const whole = sites.every(Boolean) ? plane : fillGreen(plane, null);
  const values = resamplePlane(whole, pixelRatio, null).samples.filter(Number.isFinite);
  const scatter = values.reduce((sum, value) => sum + value * value, 0) / values.length;
  // All light is kept, so the noise of a wide area is that of its samples: each counts for the pixels it stands for.
  const share = sites.filter(Boolean).length / 4;
  return Math.sqrt(pixelRatio ** 2 / share / scatter);
}
