/**
 * Width of a star that the night has blurred and that stands out of focus, along the two axes of the astigmatism.
 *
 * The image is the night's profile spread over the elliptical shadow of the pupil: a disc (with a hole where the
 * telescope has an obstruction) of diameters |zT| / N and |zS| / N. Widths at half maximum do not add in quadrature
 * (a Gaussian of 3 with a disc of 8 gives 7.60, not the 5.58 of added variances), so the convolution is done once,
 * numerically, for discs of all diameters, and read from a table.
 */
export interface DefocusWidths {
  /**
   * Full width at half maximum along an axis over the width in focus, for disc diameters along and across that axis
   * in units of the width in focus. Both count from 0; beyond 6 the width grows as the disc does.
   */
  readRatio: (along: number, across: number) => number;
}

/** Kolmogorov's theory gives 4.765 (Trujillo et al. 2001, MNRAS 328:977), wings of real nights less: 4 stands between. */
const moffatBeta = 4;

const step = 0.25;
const nodes = 25;
const reach = step * (nodes - 1);

const tables = new Map<number, Float64Array>();

/** @param obstruction - diameter of the central obstruction over that of the aperture, 0 to below 1 */
export function makeDefocusWidths(obstruction: number): DefocusWidths {
  const key = Math.round(Math.min(0.7, Math.max(0, obstruction)) * 50) / 50;
  let table = tables.get(key);
  if (table === undefined) {
    table = tabulate(key);
    tables.set(key, table);
  }
  const values = table;
  return {
    readRatio(along, across) {
      const a = Math.min(Math.abs(along), reach);
      const b = Math.min(Math.abs(across), reach);
      const inside = interpolate(values, a, b);
      return Math.abs(along) > reach ? inside * (Math.abs(along) / reach) : inside;
    },
  };
}

function tabulate(obstruction: number): Float64Array {
  const points = spreadPoints(obstruction);
  const table = new Float64Array(nodes * nodes);
  for (let i = 0; i < nodes; i++) {
    for (let j = 0; j < nodes; j++) table[i * nodes + j] = measureWidth(points, i * step, j * step);
  }
  const inFocus = table[0];
  return table.map((width) => width / inFocus);
}

interface PupilPoints {
  /** In units of the pupil's radius; the lower half mirrors the upper, so it is left out. */
  x: Float64Array;
  y: Float64Array;
}

/** Points of equal area over half the pupil. */
function spreadPoints(obstruction: number): PupilPoints {
  const rings = 14;
  const spokes = 28;
  const x = new Float64Array(rings * spokes);
  const y = new Float64Array(rings * spokes);
  for (let ring = 0; ring < rings; ring++) {
    const area = obstruction ** 2 + ((1 - obstruction ** 2) * (ring + 0.5)) / rings;
    for (let spoke = 0; spoke < spokes; spoke++) {
      const angle = (Math.PI * (spoke + (ring % 2 === 0 ? 0.25 : 0.75))) / spokes;
      x[ring * spokes + spoke] = Math.sqrt(area) * Math.cos(angle);
      y[ring * spokes + spoke] = Math.sqrt(area) * Math.sin(angle);
    }
  }
  return { x, y };
}

/** (1 + r2 / alpha2)^-beta with a full width at half maximum of 1. */
const inverseAlpha2 = 4 * (2 ** (1 / moffatBeta) - 1);

function measureWidth(points: PupilPoints, along: number, across: number): number {
  const light = (x: number): number => {
    let sum = 0;
    for (let k = 0; k < points.x.length; k++) {
      const dx = x - (points.x[k] * along) / 2;
      const dy = (points.y[k] * across) / 2;
      const q = 1 + (dx * dx + dy * dy) * inverseAlpha2;
      sum += 1 / (q * q * q * q);
    }
    return sum;
  };
  // Far out of focus the middle is no longer the brightest place.
  let top = light(0);
  let start = 0;
  for (let x = 0.1; x < along / 2; x += 0.1) {
    const value = light(x);
    if (value > top) [top, start] = [value, x];
  }
  let inside = start;
  let outside = along / 2 + 2;
  for (let halving = 0; halving < 22; halving++) {
    const middle = (inside + outside) / 2;
    if (light(middle) > top / 2) inside = middle;
    else outside = middle;
  }
  return inside + outside;
}

/** Cubic in both directions (Catmull & Rom 1974), mirrored at 0, where the width is even in the defocus. */
function interpolate(table: Float64Array, a: number, b: number): number {
  const [row, rowShare] = split(a);
  const [column, columnShare] = split(b);
  let sum = 0;
  for (let i = -1; i <= 2; i++) {
    const weight = weigh(i, rowShare);
    if (weight === 0) continue;
    const at = reflect(row + i) * nodes;
    let line = 0;
    for (let j = -1; j <= 2; j++) line += weigh(j, columnShare) * table[at + reflect(column + j)];
    sum += weight * line;
  }
  return sum;
}

function split(value: number): [number, number] {
  const place = Math.min(nodes - 1.000001, value / step);
  const whole = Math.floor(place);
  return [whole, place - whole];
}

function reflect(index: number): number {
  return Math.min(nodes - 1, Math.abs(index));
}

function weigh(place: number, t: number): number {
  if (place === -1) return ((2 - t) * t - 1) * t * 0.5;
  if (place === 0) return ((3 * t - 5) * t * t + 2) * 0.5;
  if (place === 1) return ((4 - 3 * t) * t + 1) * t * 0.5;
  return (t - 1) * t * t * 0.5;
}
