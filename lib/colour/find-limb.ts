import { drawIndex, makeRandom } from "../maths/random.ts";
import { quantile } from "../maths/statistics.ts";
import type { SamplePlane } from "../stars/samples.ts";

/** A circle on the frame, px. */
export interface Circle {
  xPx: number;
  yPx: number;
  radiusPx: number;
}

/** Means of the channel's pixels in square blocks, NaN where a block has none. */
interface BlockMap {
  columns: number;
  rows: number;
  sidePx: number;
  values: Float64Array;
}

const blocksAcross = 400;

function averageBlocks(plane: SamplePlane): BlockMap {
  const sidePx = Math.max(2, 2 * Math.ceil(Math.max(plane.widthPx, plane.heightPx) / blocksAcross / 2));
  const columns = Math.floor(plane.widthPx / sidePx);
  const rows = Math.floor(plane.heightPx / sidePx);
  const sums = new Float64Array(columns * rows);
  const counts = new Float64Array(columns * rows);
  for (let y = 0; y < rows * sidePx; y++) {
    const row = Math.floor(y / sidePx) * columns;
    for (let x = 0; x < columns * sidePx; x++) {
      if (!plane.sites[(x & 1) + 2 * (y & 1)]) continue;
      const value = plane.samples[y * plane.widthPx + x];
      if (!Number.isFinite(value)) continue;
      const block = row + Math.floor(x / sidePx);
      sums[block] += value;
      counts[block]++;
    }
  }
  return { columns, rows, sidePx, values: sums.map((sum, k) => sum / counts[k]) };
}

/** Places, px, where the map passes a level from one block to the next. */
function listCrossings(map: BlockMap, level: number): { x: number; y: number }[] {
  const { columns, rows, sidePx, values } = map;
  const points: { x: number; y: number }[] = [];
  const middle = (block: number): number => (block + 0.5) * sidePx - 0.5;
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const here = values[row * columns + column];
      const right = column + 1 < columns ? values[row * columns + column + 1] : Number.NaN;
      const below = row + 1 < rows ? values[(row + 1) * columns + column] : Number.NaN;
      if (here > level !== right > level && Number.isFinite(here + right)) {
        points.push({ x: middle(column + (level - here) / (right - here)), y: middle(row) });
      }
      if (here > level !== below > level && Number.isFinite(here + below)) {
        points.push({ x: middle(column), y: middle(row + (level - here) / (below - here)) });
      }
    }
  }
  return points;
}

/** The circle through three points; null where they lie on a line. */
function drawCircle(points: readonly { x: number; y: number }[]): Circle | null {
  const [a, b, c] = points;
  const [bx, by, cx, cy] = [b.x - a.x, b.y - a.y, c.x - a.x, c.y - a.y];
  const d = 2 * (bx * cy - by * cx);
  if (Math.abs(d) < 1e-6) return null;
  const [b2, c2] = [bx * bx + by * by, cx * cx + cy * cy];
  const [x, y] = [(cy * b2 - by * c2) / d, (bx * c2 - cx * b2) / d];
  return { xPx: a.x + x, yPx: a.y + y, radiusPx: Math.hypot(x, y) };
}

const trials = 3000;
/** The edge lies where the light passes this share of the bright disc over the sky (chosen: below the dimmest sunlit limb). */
const edgeLevel = 0.3;
/** Fewest crossings that must lie on the circle. */
const fewestOnCircle = 20;
/** Contrast of disc over sky below which there is no limb, in shares of the sky. */
const leastContrast = 0.5;

/**
 * The circle that most of the bright disc's border lies on, to about a block (1/400 of the frame), by random sample consensus
 * (Fischler & Bolles 1981, Comm. ACM 24:381). Terminator and craters lie on no circle of the Moon's size.
 *
 * @param radiusPx - least and largest radius that the Moon may have at the frame's scale
 * @returns null where the frame shows no bright disc with such a border
 */
export function findLimb(
  plane: SamplePlane,
  radiusPx: readonly [number, number],
  seed: number,
): Circle | null {
  const map = averageBlocks(plane);
  const [sky, disc] = [quantile(map.values, 0.02), quantile(map.values, 0.98)];
  if (!(disc - sky > leastContrast * Math.max(Math.abs(sky), 1))) return null;
  const points = listCrossings(map, sky + edgeLevel * (disc - sky));
  if (points.length < fewestOnCircle) return null;
  const random = makeRandom(seed);
  let best: { circle: Circle; count: number } | null = null;
  for (let trial = 0; trial < trials; trial++) {
    const circle = drawCircle([0, 1, 2].map(() => points[drawIndex(random, points.length)]));
    if (circle === null || circle.radiusPx < radiusPx[0] || circle.radiusPx > radiusPx[1]) continue;
    let count = 0;
    for (const { x, y } of points) {
      if (Math.abs(Math.hypot(x - circle.xPx, y - circle.yPx) - circle.radiusPx) < map.sidePx) count++;
    }
    if (best === null || count > best.count) best = { circle, count };
  }
  return best !== null && best.count >= fewestOnCircle ? best.circle : null;
}
