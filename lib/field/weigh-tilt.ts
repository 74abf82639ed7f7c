import type { Quantity } from "../maths/quantity.ts";
import { makeNormalRandom, makeRandom } from "../maths/random.ts";
import { TERM } from "./field-model.ts";
import type { OrientedFields } from "./orient-fields.ts";

/** A tilt measured by a focus sweep, um/mm. */
export interface SweptTilt {
  tiltX: Quantity;
  tiltY: Quantity;
}

/** A pair and its covariance. */
interface Pair {
  x: number;
  y: number;
  xx: number;
  yy: number;
  xy: number;
}

/** Which evidence of the tilt rules, and whether the two contradict each other. */
export interface WeighedTilt {
  from: "sweep" | "frames";
  /** Gradients to judge the tilt by, um/mm: draws of the evidence that rules. */
  draws: [x: number, y: number][];
  /** The sweep's tilt, um/mm; null without one. */
  swept: { x: number; y: number } | null;
  /** By how much sweep and frames differ, um/mm, where more than chance lets them; else null. */
  contradiction: { frames: { x: number; y: number }; differenceUmPerMm: number } | null;
}

const drawsOfSweep = 1000;
/** 99 % of a normal pair lie within this squared distance: chi-square with two degrees of freedom, -2 ln 0.01. */
const chanceLimit = -2 * Math.log(0.01);
/** Half of a 95 % interval in standard errors. */
const reachOfInterval = 1.96;

function readSweep(swept: SweptTilt | null): Pair | null {
  if (swept === null || swept.tiltX.value === null || swept.tiltY.value === null) return null;
  const error = ({ lo, hi }: { lo: number; hi: number }) => (hi - lo) / 2 / reachOfInterval;
  const [ex, ey] = [error(swept.tiltX), error(swept.tiltY)];
  return { x: swept.tiltX.value, y: swept.tiltY.value, xx: ex * ex, yy: ey * ey, xy: 0 };
}

function readFrames({ best, draws }: OrientedFields): Pair {
  const [x, y] = [best[TERM.tiltX], best[TERM.tiltY]];
  const pair = { x, y, xx: 0, yy: 0, xy: 0 };
  for (const draw of draws) {
    const [dx, dy] = [draw[TERM.tiltX] - x, draw[TERM.tiltY] - y];
    pair.xx += (dx * dx) / draws.length;
    pair.yy += (dy * dy) / draws.length;
    pair.xy += (dx * dy) / draws.length;
  }
  return pair;
}

/** Squared distance between two pairs in the errors of both. */
function measureDistance(a: Pair, b: Pair): number {
  const [dx, dy] = [a.x - b.x, a.y - b.y];
  const [xx, yy, xy] = [a.xx + b.xx, a.yy + b.yy, a.xy + b.xy];
  const determinant = xx * yy - xy * xy;
  return determinant > 0 ? (yy * dx * dx - 2 * xy * dx * dy + xx * dy * dy) / determinant : 0;
}

/**
 * The better evidence of a tilt rules: the sweep, which measures it directly, or the frames in focus, whichever knows it
 * to the smaller error. They contradict each other where they differ by more than one time in a hundred by chance, and by
 * more than `mattersUmPerMm`, for less would change nobody's mind; a
 * tilt of frames whose sign is not known is compared with both its signs.
 */
export function weighTilt(
  oriented: OrientedFields,
  sweep: SweptTilt | null,
  options: { seed: number; mattersUmPerMm: number },
): WeighedTilt {
  const frames = readFrames(oriented);
  const swept = readSweep(sweep);
  const fromFrames = oriented.draws.map((draw): [number, number] => [draw[TERM.tiltX], draw[TERM.tiltY]]);
  if (swept === null) return { from: "frames", draws: fromFrames, swept: null, contradiction: null };
  const turned = { ...frames, x: -frames.x, y: -frames.y };
  const nearer =
    !oriented.signKnown && measureDistance(turned, swept) < measureDistance(frames, swept) ? turned : frames;
  const differenceUmPerMm = Math.hypot(nearer.x - swept.x, nearer.y - swept.y);
  const contradiction =
    measureDistance(nearer, swept) > chanceLimit && differenceUmPerMm > options.mattersUmPerMm
      ? { frames: { x: nearer.x, y: nearer.y }, differenceUmPerMm }
      : null;
  const place = { x: swept.x, y: swept.y };
  if (frames.xx + frames.yy < swept.xx + swept.yy) {
    return { from: "frames", draws: fromFrames, swept: place, contradiction };
  }
  const normal = makeNormalRandom(makeRandom(options.seed));
  const draws = Array.from({ length: drawsOfSweep }, (): [number, number] => [
    swept.x + Math.sqrt(swept.xx) * normal(),
    swept.y + Math.sqrt(swept.yy) * normal(),
  ]);
  return { from: "sweep", draws, swept: place, contradiction };
}
