import type { SamplePlane } from "../stars/samples.ts";
import { type AxisWeights, type Lattice, makeAxisWeights, measureVariance } from "./area-weights.ts";

type Sites = SamplePlane["sites"];

/** The coarser pixel grid a plane is brought to. */
export interface CoarseGrid {
  /** Side of one of its pixels, px of the plane: 1 or more. */
  pixelRatio: number;
  /** Cells of its 2 x 2 block that it has samples at; others are left NaN. */
  sites: Sites;
}

/** A plane on a coarser grid that shows the same field about the same middle. */
export interface ResampledPlane {
  widthPx: number;
  heightPx: number;
  /** Light in each pixel, that is, the plane's values times `pixelRatio` squared in an even field. */
  samples: Float32Array;
  sites: Sites;
  /** Noise of the light of many pixels over what the scatter from pixel to pixel lets expect: neighbours share noise. */
  noiseFactor: number;
  /** Gain of the values over the plane's gain, for the noise of light. */
  gainFactor: number;
}

/** Pixels at each edge that stay out, so that no neighbourhood leaves the frame. */
const marginPx = 10;
/** A value counts as touched by a sample that has at least this share of its largest weight. */
const touchingShare = 0.02;

/** Lattices of one px apart (every site), or of two, one for each site of the block. */
function listLattices(sizePx: number, sites: Sites): { x: number; y: number; pitch: number }[] {
  if (sites.every(Boolean)) return [{ x: 0, y: 0, pitch: 1 }];
  return [0, 1, 2, 3].filter((site) => sites[site] && sizePx > 0).map((site) => ({ x: site & 1, y: site >> 1, pitch: 2 }));
}

/** Pixels of the coarser grid along one axis, even so that its 2 x 2 blocks are whole. */
function countCoarse(sizePx: number, ratio: number): number {
  return 2 * Math.floor((sizePx - 2 * marginPx) / ratio / 2);
}

function makeAxis(sizePx: number, origin: number, pitch: number, ratio: number, windowPx: number): AxisWeights {
  const count = countCoarse(sizePx, ratio);
  const lattice: Lattice = { count: Math.ceil((sizePx - origin) / pitch), pitch, origin };
  const start = (sizePx - 1) / 2 - ((count - 1) / 2) * ratio;
  const axis = makeAxisWeights(lattice, { start, step: ratio, count }, windowPx);
  if (axis === null) throw new RangeError(`a grid of ${count} pixels leaves ${sizePx} samples`);
  return axis;
}

/**
 * A plane brought to a coarser grid by what light falls into each of its pixels. The coarser pixel's own integral is in
 * the values, the finer one's is not: what is measured afterwards is what a camera of such pixels would have seen, but
 * for the noise, which neighbours share (`noiseFactor`).
 *
 * One colour of a filter array has samples two px apart that each cover one: a window of sqrt(m^2 + 3) px then gives a
 * pixel of m px its second moment. Values touched by a saturated sample become `saturationAdu` times `pixelRatio`
 * squared, those touched by NaN NaN.
 *
 * @param saturationAdu - of the plane; null: nothing is saturated
 * @throws RangeError where the plane is too small for one block of the grid
 */
export function resamplePlane(
  plane: SamplePlane,
  grid: CoarseGrid,
  saturationAdu: number | null,
): ResampledPlane {
  const { pixelRatio } = grid;
  const widthPx = countCoarse(plane.widthPx, pixelRatio);
  const heightPx = countCoarse(plane.heightPx, pixelRatio);
  if (!(widthPx >= 2 && heightPx >= 2)) throw new RangeError("the plane is too small for a coarser grid");
  const samples = new Float32Array(new SharedArrayBuffer(4 * widthPx * heightPx));
  const lattices = listLattices(plane.widthPx, plane.sites);
  let variance = 0;
  for (const { x, y, pitch } of lattices) {
    const windowPx = Math.sqrt(pixelRatio ** 2 + pitch ** 2 - 1);
    const across = makeAxis(plane.widthPx, x, pitch, pixelRatio, windowPx);
    const down = makeAxis(plane.heightPx, y, pitch, pixelRatio, windowPx);
    // Light in a window of the lattice's cells, as light in a pixel; each lattice tells its share.
    const scale = (pixelRatio / (windowPx / pitch)) ** 2 / lattices.length;
    addLattice(plane, { x, y, pitch, across, down, scale }, samples, widthPx, saturationAdu);
    variance += scale ** 2 * measureVariance(across) * measureVariance(down);
  }
  finishSamples(samples, widthPx, grid.sites, saturationAdu === null ? null : saturationAdu * pixelRatio ** 2);
  const shareIn = plane.sites.filter(Boolean).length / 4;
  const shareOut = grid.sites.filter(Boolean).length / 4;
  return {
    widthPx,
    heightPx,
    samples,
    sites: grid.sites,
    noiseFactor: Math.sqrt((pixelRatio ** 2 * shareOut) / shareIn / variance),
    gainFactor: shareIn / shareOut,
  };
}

interface LatticePass {
  x: number;
  y: number;
  pitch: number;
  across: AxisWeights;
  down: AxisWeights;
  scale: number;
}

/** Marks a value that a saturated sample reaches: above anything light adds up to. */
const SATURATED = Number.POSITIVE_INFINITY;

/** Adds what one lattice tells of every pixel of the coarser grid. Rows are resampled once each, as they are needed. */
function addLattice(
  plane: SamplePlane,
  { x, y, pitch, across, down, scale }: LatticePass,
  samples: Float32Array,
  widthPx: number,
  saturationAdu: number | null,
): void {
  const kept = down.taps + 1;
  const rows = Array.from({ length: kept }, () => new Float32Array(widthPx));
  const held = new Int32Array(kept).fill(-1);
  const limit = saturationAdu ?? SATURATED;
  for (let row = 0; row < down.count; row++) {
    const target = samples.subarray(row * widthPx, (row + 1) * widthPx);
    const weights = down.weights.subarray(row * down.taps, (row + 1) * down.taps);
    const least = touchingShare * Math.max(...weights);
    for (let tap = 0; tap < down.taps; tap++) {
      const weight = weights[tap] * scale;
      if (weight === 0) continue;
      const line = down.first[row] + tap;
      const slot = line % kept;
      if (held[slot] !== line) {
        resampleRow(plane, y + pitch * line, x, pitch, across, limit, rows[slot]);
        held[slot] = line;
      }
      const source = rows[slot];
      const touches = Math.abs(weights[tap]) >= least;
      for (let column = 0; column < widthPx; column++) {
        const value = source[column];
        if (value === SATURATED) {
          if (touches) target[column] = SATURATED;
        } else target[column] += weight * value;
      }
    }
  }
}

function resampleRow(
  plane: SamplePlane,
  row: number,
  x: number,
  pitch: number,
  { count, taps, first, weights }: AxisWeights,
  limit: number,
  into: Float32Array,
): void {
  const { samples } = plane;
  const start = row * plane.widthPx + x;
  for (let column = 0; column < count; column++) {
    const at = start + pitch * first[column];
    const tap0 = column * taps;
    let sum = 0;
    let saturated = false;
    for (let tap = 0; tap < taps; tap++) {
      const value = samples[at + pitch * tap];
      if (value >= limit && Math.abs(weights[tap0 + tap]) >= touchingShare) saturated = true;
      sum += weights[tap0 + tap] * value;
    }
    into[column] = saturated ? SATURATED : sum;
  }
}

/** Saturated values to their level, sites that the grid lacks to NaN. */
function finishSamples(samples: Float32Array, widthPx: number, sites: Sites, level: number | null): void {
  const whole = sites.every(Boolean);
  for (let i = 0; i < samples.length; i++) {
    if (!whole && !sites[((i % widthPx) & 1) + 2 * (Math.floor(i / widthPx) & 1)]) samples[i] = Number.NaN;
    else if (level !== null && samples[i] >= level) samples[i] = level;
  }
}
