import { type BlurGrid, type GridShelf, prepareBlurGrid, readBlurWidths } from "./blur-width.ts";

/** Places of the terms that all frames share in the list of parameters. */
export const TERM = {
  /** Height of the focal surface at the sensor's centre by its plane term, um. */
  defocus: 0,
  /** Gradient of the plane term, um/mm. */
  tiltX: 1,
  tiltY: 2,
  /** um/mm2. */
  curvature: 3,
  astigmatism: 4,
  /** Where r2 is counted from, mm. */
  centreX: 5,
  centreY: 6,
  /** Coma as the blur it adds: squared diameter across the radius over r2, um2/mm2 (three times that along it). */
  coma: 7,
  /** Elongations are measured too large by this share; see FAULTS. */
  gain: 8,
} as const;

/**
 * Faults of the measured shapes, which are fitted as well, as far as they are expected: ln(width), e1 and e2 (three runs)
 * off by x, y, r2, x2 - y2 and 2 x y over the half-diagonal (five each). No light follows from them; they keep what a
 * learned star profile gets wrong out of the optics.
 */
export const FAULTS = { first: 9, each: 5 } as const;
export const TERMS = FAULTS.first + 3 * FAULTS.each;

/**
 * Places of a frame's own terms after the shared ones: ln of the width in focus (um), its spin-2 pair, and how far its
 * focus lies from that of the frames together, um.
 */
export const NIGHT = { lnWidth: 0, e1: 1, e2: 2, focus: 3 } as const;
export const NIGHTS = 4;

/** What the model must know of the optics. */
export interface BlurOptics {
  focalRatio: number;
  /** Linear central obstruction over the aperture, 0 to 1. */
  obstructionRatio: number;
  wavelengthUm: number;
}

/** Stars, or means of stars of a small cell, of one frame: what the model is compared with. Columns of equal length. */
export interface ShapeSamples {
  xMm: Float64Array;
  yMm: Float64Array;
  /** ln of the geometric mean of the half-maximum widths in um, e1 and e2: three numbers a sample. */
  shape: Float64Array;
  /** One-sigma errors of ln(width) and of each of e1, e2: two numbers a sample. */
  error: Float64Array;
  /** The part of these errors that is noise: what differs from star to star at random. */
  noise: Float64Array;
  /** Stars in the sample. */
  count: Float64Array;
}

/** Heights of the tangential and sagittal foci over the sensor, um, at a place, for a frame at a focus offset. */
export function evaluateFoci(
  parameters: ArrayLike<number>,
  focusOffsetUm: number,
  xMm: number,
  yMm: number,
): { tangentialUm: number; sagittalUm: number } {
  const dx = xMm - parameters[TERM.centreX];
  const dy = yMm - parameters[TERM.centreY];
  const r2 = dx * dx + dy * dy;
  const middle =
    parameters[TERM.defocus] +
    focusOffsetUm +
    parameters[TERM.tiltX] * xMm +
    parameters[TERM.tiltY] * yMm +
    parameters[TERM.curvature] * r2;
  const apart = parameters[TERM.astigmatism] * r2;
  return { tangentialUm: middle + apart, sagittalUm: middle - apart };
}

/** What a frame's own terms give, prepared once for all its stars. */
export interface NightBlur {
  grid: BlurGrid;
  lnWidth: number;
  /** Symmetric root of the tensor of a star in focus (um), and its inverse: xx, yy, xy. */
  root: [number, number, number];
  inverse: [number, number, number];
}

const largestElongation = 0.9;

/**
 * The star in focus: seeing, diffraction and tracking together, as an ellipse; and the table that holds for its width.
 *
 * @param shelf - for draws of a fit: gives a grid that is near enough
 */
export function prepareNight(
  lnWidth: number,
  e1: number,
  e2: number,
  optics: BlurOptics,
  shelf?: GridShelf,
): NightBlur {
  const size = Math.hypot(e1, e2);
  const held = size > largestElongation ? largestElongation / size : 1;
  const [a, b] = [e1 * held, e2 * held];
  const width = Math.exp(lnWidth);
  const scale = (width * width) / Math.sqrt(1 - a * a - b * b);
  // Root of a symmetric 2 x 2 matrix M: (M + sqrt(det M)) / sqrt(trace M + 2 sqrt(det M)); here sqrt(det M) = width^2.
  const under = Math.sqrt(2 * scale + 2 * width * width);
  const xx = (scale * (1 + a) + width * width) / under;
  const yy = (scale * (1 - a) + width * width) / under;
  const xy = (scale * b) / under;
  const determinant = width * width;
  const share = (optics.wavelengthUm * optics.focalRatio) / width;
  return {
    grid: shelf?.(share) ?? prepareBlurGrid(optics.obstructionRatio, share),
    lnWidth,
    root: [xx, yy, xy],
    inverse: [yy / determinant, xx / determinant, -xy / determinant],
  };
}

const squares = new Float64Array(2);

/**
 * Shape of a star at (xMm, yMm): ln of the geometric mean width (um), e1, e2, written to `into` from `at`.
 *
 * The foci at z_T and z_S blur by z / N along and across the radius. With seeing and tracking together an ellipse
 * (tensor root^2), the plane is stretched so that this ellipse is a circle; there the blur is an ellipse again, whose
 * axes the table of wave optics turns into widths; stretched back, these give the star's tensor. Exact where tracking
 * stretches the whole of the star in focus; in truth it does not stretch the diffraction, a second-order difference.
 */
export function evaluateShape(
  parameters: ArrayLike<number>,
  night: NightBlur,
  focusOffsetUm: number,
  focalRatio: number,
  xMm: number,
  yMm: number,
  into: Float64Array,
  at: number,
): void {
  const dx = xMm - parameters[TERM.centreX];
  const dy = yMm - parameters[TERM.centreY];
  const r2 = dx * dx + dy * dy;
  const middle =
    parameters[TERM.defocus] +
    focusOffsetUm +
    parameters[TERM.tiltX] * xMm +
    parameters[TERM.tiltY] * yMm +
    parameters[TERM.curvature] * r2;
  const apart = parameters[TERM.astigmatism] * r2;
  const [c2, s2] = r2 > 0 ? [(dx * dx - dy * dy) / r2, (2 * dx * dy) / r2] : [1, 0];
  evaluateFociShape(
    night,
    (middle + apart) / focalRatio,
    (middle - apart) / focalRatio,
    parameters[TERM.coma] * r2,
    c2,
    s2,
    into,
    at,
  );
}

/**
 * The same from the blur diameters of the two foci (um, signed), the squared diameter of coma (um2), and cosine and sine
 * of twice the radius' direction.
 */
export function evaluateFociShape(
  night: NightBlur,
  tangential: number,
  sagittal: number,
  coma: number,
  c2: number,
  s2: number,
  into: Float64Array,
  at: number,
): void {
  const along = tangential * tangential + 3 * coma;
  const across = sagittal * sagittal + coma;
  const mean = (along + across) / 2;
  const half = (along - across) / 2;
  const [gxx, gyy, gxy] = [mean + half * c2, mean - half * c2, half * s2];
  const [ixx, iyy, ixy] = night.inverse;
  // E = inverse G inverse
  const [pxx, pxy] = [ixx * gxx + ixy * gxy, ixx * gxy + ixy * gyy];
  const [pyx, pyy] = [ixy * gxx + iyy * gxy, ixy * gxy + iyy * gyy];
  const exx = pxx * ixx + pxy * ixy;
  const eyy = pyx * ixy + pyy * iyy;
  const exy = pxx * ixy + pxy * iyy;
  const middleE = (exx + eyy) / 2;
  const spreadE = Math.hypot((exx - eyy) / 2, exy);
  const u1 = Math.sqrt(Math.max(0, middleE + spreadE));
  const u2 = Math.sqrt(Math.max(0, middleE - spreadE));
  readBlurWidths(night.grid, u1, tangential * sagittal < 0 ? -u2 : u2, squares);
  const meanW = (squares[0] + squares[1]) / 2;
  const halfW = spreadE > 0 ? (squares[0] - squares[1]) / 2 / spreadE : 0;
  const wxx = meanW + (halfW * (exx - eyy)) / 2;
  const wyy = meanW - (halfW * (exx - eyy)) / 2;
  const wxy = halfW * exy;
  const [rxx, ryy, rxy] = night.root;
  const [qxx, qxy] = [rxx * wxx + rxy * wxy, rxx * wxy + rxy * wyy];
  const [qyx, qyy] = [rxy * wxx + ryy * wxy, rxy * wxy + ryy * wyy];
  const mxx = qxx * rxx + qxy * rxy;
  const myy = qyx * rxy + qyy * ryy;
  const mxy = qxx * rxy + qxy * ryy;
  into[at] = night.lnWidth + Math.log(squares[0] * squares[1]) / 4;
  into[at + 1] = (mxx - myy) / (mxx + myy);
  into[at + 2] = (2 * mxy) / (mxx + myy);
}
