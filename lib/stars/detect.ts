import { estimateBackground } from "./background.ts";
import { type Candidates, joinCandidates, selectCandidates } from "./candidates.ts";
import { countCrossings } from "./count-crossings.ts";
import { type DetectBand, detectBandTask } from "./detect-band.ts";
import { chooseThreshold } from "./detection-threshold.ts";
import { estimateTypicalWidth } from "./estimate-width.ts";
import { findSaturation } from "./find-saturation.ts";
import { flagBlends } from "./flag-blends.ts";
import { flagTrailedDoubles, type TrackingJump } from "./flag-doubles.ts";
import { flagRays, isRay } from "./flag-rays.ts";
import { classifySpikes } from "./flag-spikes.ts";
import { flagTrails } from "./flag-trails.ts";
import { mergeCloseCandidates, orderByLight } from "./merge-candidates.ts";
import { mergeSaturated } from "./merge-saturated.ts";
import type { MeshMap } from "./plane-measurement.ts";
import type { CameraNoise, SamplePlane } from "./samples.ts";
import { STAR_FLAGS } from "./star-table.ts";
import type { StarTaskRunner } from "./star-task.ts";

export { type DetectBand, detectBandTask } from "./detect-band.ts";

/** Kernel of the first look: wide enough that a defocused disc or ring is one object, and stars of 2 px still answer. */
const FIRST_LOOK_FWHM_PX = 6;
/** Signal to noise in the first look of what the width is learned from. */
const FIRST_LOOK_THRESHOLD = 12;
/** Bright stars from which the strips of the first look are enough. */
const ENOUGH_STARS = 100;
/** Width taken where too few stars tell it: a common one for well-sampled frames. Common practice, no source. */
const FALLBACK_FWHM_PX = 3;
/** A star whose centre is nearer to an edge than so many FWHM has not all its light on the frame. */
const BORDER_FWHM = 2;

export interface Detection {
  candidates: Candidates;
  background: MeshMap;
  noise: MeshMap;
  /** Typical FWHM of the frame's stars as sampled, px. */
  fwhmPx: number;
  /** Given, or found as a pile at the top of the values; null: nothing is saturated that can be told. */
  saturationAdu: number | null;
  warnings: string[];
}

/** Splits rows into at most `count` bands of even height. */
function splitRows(heightPx: number, count: number): { y0: number; y1: number }[] {
  const rows = Math.max(24, 2 * Math.ceil(heightPx / count / 2));
  const bands: { y0: number; y1: number }[] = [];
  for (let y0 = 0; y0 < heightPx; y0 += rows) bands.push({ y0, y1: Math.min(heightPx, y0 + rows) });
  return bands;
}

function sortByLight(candidates: Candidates): Candidates {
  return selectCandidates(candidates, orderByLight(candidates));
}

function flagBorder(candidates: Candidates, plane: SamplePlane, marginPx: number): void {
  for (let i = 0; i < candidates.xPx.length; i++) {
    const x = candidates.xPx[i];
    const y = candidates.yPx[i];
    const inside =
      x >= marginPx &&
      y >= marginPx &&
      x <= plane.widthPx - 1 - marginPx &&
      y <= plane.heightPx - 1 - marginPx;
    if (!inside) candidates.flags[i] |= STAR_FLAGS.border;
  }
}

function describeTrails(count: number): string {
  return count === 1
    ? "A satellite or an aeroplane crossed the field: objects on its trail are left out."
    : `${count} trails of satellites or aeroplanes cross the field: objects on them are left out.`;
}

function describeJump({ dxPx, dyPx, pairs }: TrackingJump): string {
  const length = Math.hypot(dxPx, dyPx).toFixed(1);
  return `The mount jumped during the exposure: ${pairs} stars are drawn twice, ${length} px apart; they are left out.`;
}

/**
 * Background, noise and every star-like object of a plane, flagged where it is saturated, at the border, a spike, on a
 * trail, blended or drawn twice. Two looks: a wide filter finds the brighter objects and from them the frame's typical star width; the filter
 * matched to that width finds the rest. Results do not depend on how the runner spreads the jobs.
 */
export async function findCandidates(
  plane: SamplePlane,
  camera: CameraNoise,
  run: StarTaskRunner,
): Promise<Detection> {
  const warnings: string[] = [];
  const { background, noise } = await estimateBackground(plane, run);
  const job = (fwhmPx: number, threshold: number, saturationAdu: number | null) => {
    return (band: { y0: number; y1: number }): DetectBand => ({
      plane,
      background,
      noise,
      fwhmPx,
      threshold,
      gainElectronsPerAdu: camera.gainElectronsPerAdu,
      saturationAdu,
      ...band,
    });
  };
  const bands = splitRows(plane.heightPx, 8);
  const look = async (part: { y0: number; y1: number }[]) => {
    const jobs = part.map(job(FIRST_LOOK_FWHM_PX, FIRST_LOOK_THRESHOLD, camera.saturationAdu));
    const first = sortByLight(joinCandidates(await run(detectBandTask, jobs)));
    const level = camera.saturationAdu ?? findSaturation(plane, first, background);
    return { level, width: estimateTypicalWidth(plane, first, background, level) };
  };
  // Strips over the whole height tell the width of a rich field; a poor one is looked at as a whole.
  const strips = splitRows(plane.heightPx, 32).filter((_, i) => i % 4 === 1);
  let { level: saturationAdu, width } = await look(strips);
  if (width.usedStars < ENOUGH_STARS) ({ level: saturationAdu, width } = await look(bands));
  let fwhmPx = width.fwhmPx;
  if (Number.isNaN(fwhmPx)) {
    fwhmPx = FALLBACK_FWHM_PX;
    warnings.push(
      `Only ${width.usedStars} bright unsaturated stars: their width could not be learned, ${fwhmPx} px is assumed for detection.`,
    );
  }
  const area = (plane.widthPx * plane.heightPx * plane.sites.filter(Boolean).length) / 4;
  const threshold = chooseThreshold(fwhmPx, area);
  const detect = async () =>
    joinCandidates(await run(detectBandTask, bands.map(job(fwhmPx, threshold, saturationAdu))));
  let apart = mergeCloseCandidates(await detect(), 0.8 * fwhmPx);
  if (saturationAdu === null) {
    // The strips may have missed what few saturated stars there are; their flat tops are found once the level is known.
    saturationAdu = findSaturation(plane, apart, background);
    if (saturationAdu !== null) apart = mergeCloseCandidates(await detect(), 0.8 * fwhmPx);
  }
  const { candidates, blobs } =
    saturationAdu === null
      ? { candidates: apart, blobs: [] }
      : mergeSaturated(apart, plane, saturationAdu, Math.max(1.5, fwhmPx));
  const sharpestPx = Number.isNaN(width.sharpestPx) ? 0.85 * fwhmPx : width.sharpestPx;
  classifySpikes(plane, candidates, background, noise, fwhmPx, sharpestPx);
  flagBorder(candidates, plane, Math.max(2, BORDER_FWHM * fwhmPx));
  flagRays(candidates, blobs, fwhmPx);
  const trails = flagTrails(candidates, plane.widthPx, plane.heightPx, fwhmPx).filter(
    (trail) => !isRay(trail, blobs),
  );
  if (trails.length > 0) warnings.push(describeTrails(countCrossings(trails)));
  flagBlends(candidates, fwhmPx);
  const jump = flagTrailedDoubles(candidates, fwhmPx);
  if (jump !== null) warnings.push(describeJump(jump));
  return { candidates, background, noise, fwhmPx, saturationAdu, warnings };
}
