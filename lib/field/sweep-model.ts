import { type BlurGrid, readBlurWidths } from "./blur-width.ts";

/**
 * What the whole sweep shares, in this order: height of the focal surface at the sensor's centre over the sensor at the
 * reference position (um), its gradient along x and y (um/mm), c and A (um/mm2), the centre of the r2 terms (mm), ln of
 * the blur cone's steepness over that of the focal ratio on record, ln of the width in focus (um), and the lag of
 * positions reached inwards (um).
 */
export const shared = {
  height: 0,
  tiltX: 1,
  tiltY: 2,
  curvature: 3,
  astigmatism: 4,
  centreX: 5,
  centreY: 6,
  steepness: 7,
  width: 8,
  lag: 9,
} as const;
export const sharedCount = 10;

/**
 * What each frame has of its own: ln of its width in focus over the shared one, tracking as e1 and e2 in focus, and the
 * error of its position (play, settling, temperature), um.
 */
export const ownCount = 4;

export interface SweepFrameState {
  /** Sensor's position less the reference, um, positive away from the telescope. */
  shiftUm: number;
  /** 1 where the focuser came from outside, else 0. */
  inward: number;
}

/** Expected shape of a star: ln width, e1, e2. */
export type Shape = [number, number, number];

/** Heights of the two foci over the sensor at one field point, um, and the direction of the meridian. */
export function computeFoci(parameters: ArrayLike<number>, xMm: number, yMm: number) {
  const dx = xMm - parameters[shared.centreX];
  const dy = yMm - parameters[shared.centreY];
  const r2 = dx * dx + dy * dy;
  const plane = parameters[shared.height] + parameters[shared.tiltX] * xMm + parameters[shared.tiltY] * yMm;
  const mean = plane + parameters[shared.curvature] * r2;
  const half = parameters[shared.astigmatism] * r2;
  return { tangential: mean + half, sagittal: mean - half, dx, dy, r2 };
}

const squares = new Float64Array(2);

/** Shape from the two foci at the frame's position: the night's profile spread by the blur, tracking added. */
export function predictShape(
  grid: BlurGrid,
  focalRatio: number,
  parameters: ArrayLike<number>,
  own: ArrayLike<number>,
  frame: SweepFrameState,
  foci: { tangential: number; sagittal: number; dx: number; dy: number; r2: number },
  into: Shape,
): void {
  const inFocus = Math.exp(parameters[shared.width] + own[0]);
  const perUm = Math.exp(parameters[shared.steepness]) / (focalRatio * inFocus);
  const shift = frame.shiftUm + own[3] + parameters[shared.lag] * frame.inward;
  const along = (foci.tangential + shift) * perUm;
  const across = (foci.sagittal + shift) * perUm;
  readBlurWidths(grid, Math.abs(along), Math.abs(across) * (along * across < 0 ? -1 : 1), squares);
  const [along2, across2] = squares;
  const mean = (along2 + across2) / 2;
  const half = (along2 - across2) / 2;
  const cos2 = foci.r2 > 0 ? (foci.dx * foci.dx - foci.dy * foci.dy) / foci.r2 : 1;
  const sin2 = foci.r2 > 0 ? (2 * foci.dx * foci.dy) / foci.r2 : 0;
  const q1 = half * cos2 + own[1];
  const q2 = half * sin2 + own[2];
  into[1] = q1 / mean;
  into[2] = q2 / mean;
  into[0] = Math.log(inFocus) + 0.25 * Math.log(Math.max(1e-9, mean * mean - q1 * q1 - q2 * q2));
}
