import { computePoissonLogTail } from "../maths/distributions.ts";
import type { CellIndex } from "../stars/cell-index.ts";
import { pairStars } from "./pair-stars.ts";
import { fitPlaneMap, movePoint, type PlaneMap } from "./plane-map.ts";
import type { Proposal } from "./propose-similarities.ts";
import { moveBySimilarity } from "./similarity.ts";
import type { SkyList } from "./sky-list.ts";

/** Both lists with what is looked up in them again and again. */
export interface VerifyingDesk {
  from: SkyList;
  to: SkyList;
  /** Stars of `to` by place. */
  index: CellIndex;
}

/** Stars of `from` around a figure that are tried first, and how far out, in sizes of the figure. */
const firstStars = 40;
const firstReach = 4;
/** Chance below which a figure's surroundings are worth following up. */
const worthFollowing = 1e-3;
/** Position error of a good pair, px, and how fast a small figure's map runs off outside it. */
const pairRadiusPx = 1.5;
const driftPerPx = 0.012;
/** Growth of the region from one step to the next. */
const growth = 1.8;

function isInside(list: SkyList, x: number, y: number): boolean {
  // y runs upwards from minus the height.
  return x >= -0.5 && x <= list.widthPx - 0.5 && -y >= -0.5 && -y <= list.heightPx - 0.5;
}

function findMiddle(from: SkyList, pairs: readonly (readonly [number, number])[]): [number, number] {
  let [x, y] = [0, 0];
  for (const [row] of pairs) {
    x += from.x[row] / pairs.length;
    y += from.y[row] / pairs.length;
  }
  return [x, y];
}

function measureSize(from: SkyList, pairs: readonly (readonly [number, number])[]): number {
  return Math.hypot(from.x[pairs[1][0]] - from.x[pairs[0][0]], from.y[pairs[1][0]] - from.y[pairs[0][0]]);
}

/** Density of a list's stars, stars a square px. */
function computeDensity(list: SkyList, count: number): number {
  return count / (list.widthPx * list.heightPx);
}

/**
 * Pairs around a proposed figure, the figure's own among them, where more stars fall on others than chance would bring;
 * null where they do not.
 */
export function tryProposal(desk: VerifyingDesk, proposal: Proposal): [number, number][] | null {
  const { from, to, index } = desk;
  const { map, pairs } = proposal;
  const [middleX, middleY] = findMiddle(from, pairs);
  const size = measureSize(from, pairs);
  const scale = Math.hypot(map.real, map.imaginary);
  const own = new Set(pairs.map(([row]) => row));
  const taken = new Set(pairs.map(([, row]) => row));
  const rows: number[] = [];
  const radii = new Map<number, number>();
  let expected = 0;
  const density = computeDensity(to, to.x.length);
  for (let row = 0; row < from.x.length && rows.length < firstStars; row++) {
    const distance = Math.hypot(from.x[row] - middleX, from.y[row] - middleY);
    if (distance > firstReach * size || own.has(row)) continue;
    const [x, y] = moveBySimilarity(map, from.x[row], from.y[row]);
    if (!isInside(to, x, y)) continue;
    const radius = pairRadiusPx * Math.max(1, scale) + driftPerPx * distance * scale;
    rows.push(row);
    radii.set(row, radius);
    expected += 1 - Math.exp(-density * Math.PI * radius * radius);
  }
  const found = pairStars(
    rows,
    (row) => moveBySimilarity(map, from.x[row], from.y[row]),
    to,
    index,
    (row) => radii.get(row) ?? 0,
  ).filter(([, row]) => !taken.has(row));
  if (found.length < 2) return null;
  if (computePoissonLogTail(found.length, expected) > Math.log(worthFollowing)) return null;
  return [...pairs, ...found];
}

function measureRms(
  desk: VerifyingDesk,
  map: PlaneMap,
  pairs: readonly (readonly [number, number])[],
): number {
  const errors = pairs.map(([i, j]) => {
    const [x, y] = movePoint(map, desk.from.x[i], desk.from.y[i]);
    return (x - desk.to.x[j]) ** 2 + (y - desk.to.y[j]) ** 2;
  });
  errors.sort((left, right) => left - right);
  // Of normal errors along two axes the median square is 2 ln 2 variances.
  return Math.sqrt(errors[errors.length >> 1] / (2 * Math.LN2));
}

/** All pairs that a map grown outwards from a few of them brings together, and that map. */
export interface GrownMatch {
  map: PlaneMap;
  pairs: [number, number][];
  /** Within which distance stars were paired at the end, px of `to`. */
  radiusPx: number;
}

/**
 * Widens the region in which stars are paired, fitting the map anew at each step, until it holds the whole list: a map
 * from one small figure would miss at the far corner by tens of pixels.
 */
export function growMatch(desk: VerifyingDesk, start: [number, number][]): GrownMatch | null {
  const { from, to, index } = desk;
  const [middleX, middleY] = findMiddle(from, start.slice(0, 4));
  const distances = Array.from(from.x, (x, row) => Math.hypot(x - middleX, from.y[row] - middleY));
  const farthest = Math.max(...distances);
  let pairs = start;
  let reach = firstReach * measureSize(from, start);
  let radiusPx = 2 * pairRadiusPx;
  for (let step = 0; step < 40; step++) {
    const map = fitPlaneMap(from, to, pairs);
    if (map === null) return null;
    const whole = reach >= farthest;
    const wider = reach * growth;
    const rms = measureRms(desk, map, pairs);
    radiusPx = Math.min(4, Math.max(1, 3.5 * rms));
    const scale = estimateScale(map, middleX, middleY);
    const rows: number[] = [];
    for (let row = 0; row < distances.length; row++) if (distances[row] <= wider) rows.push(row);
    const next = pairStars(
      rows,
      (row) => movePoint(map, from.x[row], from.y[row]),
      to,
      index,
      (row) => radiusPx + driftPerPx * scale * Math.max(0, distances[row] - reach),
    );
    if (next.length < 4) return null;
    const settled = whole && next.length === pairs.length;
    pairs = next;
    reach = wider;
    if (settled) break;
  }
  const map = fitPlaneMap(from, to, pairs);
  return map === null ? null : { map, pairs, radiusPx };
}

function estimateScale(map: PlaneMap, x: number, y: number): number {
  const [u0, v0] = movePoint(map, x, y);
  const [u1, v1] = movePoint(map, x + 1, y);
  return Math.hypot(u1 - u0, v1 - v0);
}

/** Shares of the lists, brightest first, that the count is taken over: faint stars of only one list drown the rest. */
const countedStars = [50, 200, 800, Number.POSITIVE_INFINITY];

/**
 * Natural logarithm of the chance that unrelated fields would show as many pairs, for one map tried: the least over
 * several depths of both lists, times their number. Coefficients fitted are taken off the count, two to a pair.
 */
export function computeLogChance(desk: VerifyingDesk, grown: GrownMatch): number {
  const { from, to } = desk;
  const free = grown.map.u.length;
  let least = 0;
  for (const [k, fromCount] of countedStars.entries()) {
    if (k > 0 && countedStars[k - 1] >= from.x.length) break;
    let inside = 0;
    for (let row = 0; row < Math.min(fromCount, from.x.length); row++) {
      const [x, y] = movePoint(grown.map, from.x[row], from.y[row]);
      if (isInside(to, x, y)) inside++;
    }
    for (const [l, toCount] of countedStars.entries()) {
      if (l > 0 && countedStars[l - 1] >= to.x.length) break;
      const density = computeDensity(to, Math.min(toCount, to.x.length));
      const mean = inside * (1 - Math.exp(-density * Math.PI * grown.radiusPx ** 2));
      const count = grown.pairs.filter(([i, j]) => i < fromCount && j < toCount).length - free;
      least = Math.min(least, computePoissonLogTail(count, mean));
    }
  }
  return least + Math.log(countedStars.length ** 2);
}
