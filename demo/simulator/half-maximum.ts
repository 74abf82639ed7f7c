/** The half-maximum contour of a star image, told by the ellipse that has its area and its second moments. */
export interface HalfMaximum {
  /** Full width along and across the long axis, in the sampler's unit; sqrt(major minor) is the equal-area diameter. */
  fwhmMajor: number;
  fwhmMinor: number;
  /** Direction of the long axis in the sampler's own axes, radians, 0 <= angle < pi. */
  angleRad: number;
  /** Centroid of the region within the contour. */
  x: number;
  y: number;
  peak: number;
  /** Radii of the contour about `origin`, equally spaced in angle from +x. */
  origin: { x: number; y: number };
  radii: Float64Array;
}

export const contourAngles = 64;
const tolerance = 1e-7;

/** Value of the image at a position. */
export type ImageSampler = (x: number, y: number) => number;

/** Climbs to the top from (x, y) by Newton's steps on differences over `step`; gives up quietly after eight. */
export function climbToPeak(
  sample: ImageSampler,
  start: { x: number; y: number },
  step: number,
): { x: number; y: number; value: number } {
  let { x, y } = start;
  let value = sample(x, y);
  for (let pass = 0; pass < 8; pass++) {
    const [left, right] = [sample(x - step, y), sample(x + step, y)];
    const [below, above] = [sample(x, y - step), sample(x, y + step)];
    const cross =
      (sample(x + step, y + step) -
        sample(x - step, y + step) -
        sample(x + step, y - step) +
        sample(x - step, y - step)) /
      4;
    const gx = (right - left) / 2;
    const gy = (above - below) / 2;
    const xx = left + right - 2 * value;
    const yy = below + above - 2 * value;
    const determinant = xx * yy - cross * cross;
    if (!(xx < 0 && determinant > 0)) break;
    const moveX = limit((-(yy * gx - cross * gy) / determinant) * step, step);
    const moveY = limit((-(xx * gy - cross * gx) / determinant) * step, step);
    const next = sample(x + moveX, y + moveY);
    if (!(next > value)) break;
    x += moveX;
    y += moveY;
    value = next;
    if (Math.hypot(moveX, moveY) < 1e-6 * step) break;
  }
  return { x, y, value };
}

function limit(value: number, size: number): number {
  return Math.max(-size, Math.min(size, value));
}

/**
 * Follows the outermost half-maximum contour along `contourAngles` rays from `origin`. `guess` gives a radius near the
 * crossing for each ray (within 20 %); without it every ray is walked inwards from `reach` in steps of `step`.
 * Returns null where a ray does not cross: the image is no single blob.
 */
export function traceHalfMaximum(
  sample: ImageSampler,
  peak: number,
  origin: { x: number; y: number },
  search: { guess: Float64Array } | { reach: number; step: number },
): HalfMaximum | null {
  const radii = new Float64Array(contourAngles);
  const half = peak / 2;
  for (let k = 0; k < contourAngles; k++) {
    const angle = (2 * Math.PI * k) / contourAngles;
    const cosine = Math.cos(angle);
    const sine = Math.sin(angle);
    const height = (r: number): number => sample(origin.x + r * cosine, origin.y + r * sine) - half;
    let [inner, outer] = [0, 0];
    if ("guess" in search) [inner, outer] = [search.guess[k] * 0.8, search.guess[k] * 1.2];
    else {
      outer = search.reach;
      inner = outer - search.step;
      while (inner > 0 && height(inner) < 0) {
        outer = inner;
        inner -= search.step;
      }
    }
    radii[k] = findCrossing(height, Math.max(inner, 0), outer);
    if (!Number.isFinite(radii[k])) return null;
  }
  return fitContour(radii, origin, peak);
}

/** Zero of a falling function between two radii by the Illinois variant of false position; NaN without a change of sign. */
function findCrossing(height: (r: number) => number, from: number, to: number): number {
  let [a, b] = [from, to];
  let [heightA, heightB] = [height(a), height(b)];
  if (!(heightA >= 0 && heightB <= 0)) return Number.NaN;
  let side = 0;
  for (let pass = 0; pass < 60; pass++) {
    const r = (a * heightB - b * heightA) / (heightB - heightA);
    const value = height(r);
    if (Math.abs(b - a) < tolerance * b || value === 0) return r;
    if (value > 0) {
      if (r - a < tolerance * b && side === 1) return r;
      a = r;
      heightA = value;
      if (side === 1) heightB /= 2;
      side = 1;
    } else {
      if (b - r < tolerance * b && side === -1) return r;
      b = r;
      heightB = value;
      if (side === -1) heightA /= 2;
      side = -1;
    }
  }
  return (a + b) / 2;
}

/** Polar integrals of area, centroid and second moments: the trapezium rule, exact to rounding for smooth contours. */
function fitContour(radii: Float64Array, origin: { x: number; y: number }, peak: number): HalfMaximum {
  let [area, mx, my, xx, yy, xy] = [0, 0, 0, 0, 0, 0];
  const share = (2 * Math.PI) / contourAngles;
  for (let k = 0; k < contourAngles; k++) {
    const angle = share * k;
    const [c, s, r] = [Math.cos(angle), Math.sin(angle), radii[k]];
    area += (share * r ** 2) / 2;
    mx += (share * r ** 3 * c) / 3;
    my += (share * r ** 3 * s) / 3;
    xx += (share * r ** 4 * c * c) / 4;
    yy += (share * r ** 4 * s * s) / 4;
    xy += (share * r ** 4 * c * s) / 4;
  }
  mx /= area;
  my /= area;
  xx = xx / area - mx * mx;
  yy = yy / area - my * my;
  xy = xy / area - mx * my;
  const spread = Math.hypot((xx - yy) / 2, xy);
  const ratio = Math.sqrt(((xx + yy) / 2 + spread) / ((xx + yy) / 2 - spread));
  const diameter = 2 * Math.sqrt(area / Math.PI);
  const angle = 0.5 * Math.atan2(2 * xy, xx - yy);
  return {
    fwhmMajor: diameter * Math.sqrt(ratio),
    fwhmMinor: diameter / Math.sqrt(ratio),
    angleRad: angle < 0 ? angle + Math.PI : angle,
    x: origin.x + mx,
    y: origin.y + my,
    peak,
    origin,
    radii,
  };
}
