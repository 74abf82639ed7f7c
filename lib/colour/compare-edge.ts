import { factorCholesky, invertCholesky } from "../maths/linear.ts";
import { fitHuber } from "../maths/robust-fit.ts";
import type { EdgeStretch } from "./edge-measurement.ts";
import type { Estimate } from "./measure-shift.ts";

/** How one colour's limb lies against another's, px: the disc's shift, x right and y up, and by how much its radius is larger. */
export interface EdgeShift {
  x: Estimate;
  y: Estimate;
  grow: Estimate;
  /** Fringe of each stretch along its normal, outwards positive, px, and what the fit leaves over. */
  fringePx: number[];
  leftPx: number[];
}

/** An arc shorter than this cannot tell a shift from a larger disc, degrees. */
export const leastArcDeg = 120;
const fewestStretches = 5;
/**
 * A stretch's fringe errs by no less than this, px, however well few stretches happen to agree: mountains and plains shift the
 * edge of one colour's coarse sites against another's (scatter on drawn limbs of 120 to 200 degrees).
 */
const leastFringeErrorPx = 0.06;

/** Length of arc that the stretches cover from the first to the last, degrees, the largest gap left out. */
export function measureArc(stretches: readonly EdgeStretch[]): number {
  const angles = stretches.map(({ angleDeg }) => angleDeg).sort((a, b) => a - b);
  if (angles.length < 2) return 0;
  const gaps = angles.map((angle, k) => (angles[k + 1] ?? angles[0] + 360) - angle);
  return 360 - Math.max(...gaps);
}

/**
 * The fringes of all stretches as one shift of the disc and one difference of its radius: f = g + x cos a + y sin a, a the
 * normal's direction (Huber). Null for fewer than 5 stretches or less than 120 degrees of limb, where these are not told apart.
 */
export function fitEdgeShift(
  stretches: readonly EdgeStretch[],
  of: string,
  against: string,
): EdgeShift | null {
  const used = stretches.filter(
    ({ channels }) => Object.hasOwn(channels, of) && Object.hasOwn(channels, against),
  );
  if (used.length < fewestStretches || measureArc(used) < leastArcDeg) return null;
  const fringePx = used.map(({ channels }) => channels[of].positionPx - channels[against].positionPx);
  const design = used.flatMap(({ angleDeg }) => {
    const angle = (angleDeg * Math.PI) / 180;
    return [1, Math.cos(angle), Math.sin(angle)];
  });
  const fit = fitHuber(design, fringePx, 3);
  if (fit === null) return null;
  const freedom = Math.max(1, used.length - 3);
  const least = findLeastErrors(design);
  const read = (k: number): Estimate => ({
    value: fit.coefficients[k],
    error: Math.max(fit.standardErrors[k], least[k]),
    freedom,
  });
  return { grow: read(0), x: read(1), y: read(2), fringePx, leftPx: [...fit.residuals] };
}

/** Errors of the three terms by least squares with the least error of each stretch. */
function findLeastErrors(design: readonly number[]): number[] {
  const normal = new Float64Array(9);
  for (let at = 0; at < design.length; at += 3) {
    for (let i = 0; i < 3; i++) {
      for (let j = 0; j < 3; j++) normal[3 * i + j] += design[at + i] * design[at + j];
    }
  }
  const factor = factorCholesky(normal, 3);
  if (factor === null) return [0, 0, 0];
  const inverse = invertCholesky(factor, 3);
  return [0, 4, 8].map((k) => leastFringeErrorPx * Math.sqrt(inverse[k]));
}
