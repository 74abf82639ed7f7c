import type { SkyList } from "./sky-list.ts";

/**
 * Figures of four stars. The two farthest apart, A and B, fix a frame in which A lies at 0 and B at 1 (complex plane);
 * where C and D lie in it does not change when the figure is shifted, turned or scaled (Lang et al. 2010, AJ 139:1782,
 * section 2.1). Swapping A with B or C with D is settled by Re C + Re D <= 1 and Re C <= Re D.
 */
export interface Quads {
  /** Re C, Im C, Re D, Im D of each. */
  codes: Float64Array;
  /** A, B, C, D of each: places in the list. */
  stars: Int32Array;
  /** Distance of A and B, px. */
  sizes: Float64Array;
}

/**
 * Numbers of brightest stars that figures are made of. Two frames of different depth and scale show the same stars when
 * they hold as many on a square degree, and one of these steps, each twice the one before, is always within a factor of
 * 1.4 of it.
 */
const levels = [12, 25, 50, 100, 200, 400, 800];
/** How deep to look, one after the other: most pairs of frames are found among the brightest, and soonest there. */
export const LEVEL_STEPS = [100, 400, 800] as const;
/** Neighbours a star is joined with, three at a time: room for some that the other frame lacks. */
const neighbours = 6;
/** Smaller figures are mostly position error, px. */
const leastSizePx = 12;

/** Places of the nearest of the first `level` stars to star `own` into `nearest`, nearest first; how many there are. */
function findNeighbours(
  list: SkyList,
  own: number,
  level: number,
  nearest: Int32Array,
  distances: Float64Array,
): number {
  const { x, y } = list;
  let found = 0;
  for (let other = 0; other < level; other++) {
    if (other === own) continue;
    const distance = (x[other] - x[own]) ** 2 + (y[other] - y[own]) ** 2;
    if (found === neighbours && distance >= distances[neighbours - 1]) continue;
    let place = found < neighbours ? found++ : neighbours - 1;
    while (place > 0 && distances[place - 1] > distance) {
      nearest[place] = nearest[place - 1];
      distances[place] = distances[place - 1];
      place--;
    }
    nearest[place] = other;
    distances[place] = distance;
  }
  return found;
}

/** Pairs of places among four, and the two places each leaves. */
const splits = [
  [0, 1, 2, 3],
  [0, 2, 1, 3],
  [0, 3, 1, 2],
  [1, 2, 0, 3],
  [1, 3, 0, 2],
  [2, 3, 0, 1],
] as const;

/**
 * Writes the figure of four stars (places in the list) as the `row`th of `quads`. False where it is too small.
 */
export function writeQuad(list: SkyList, members: ArrayLike<number>, quads: Quads, row: number): boolean {
  const { x, y } = list;
  let longest = -1;
  let split: (typeof splits)[number] = splits[0];
  for (const candidate of splits) {
    const [i, j] = [members[candidate[0]], members[candidate[1]]];
    const distance = (x[j] - x[i]) ** 2 + (y[j] - y[i]) ** 2;
    if (distance <= longest) continue;
    longest = distance;
    split = candidate;
  }
  if (!(longest >= leastSizePx * leastSizePx)) return false;
  let [a, b, c, d] = [members[split[0]], members[split[1]], members[split[2]], members[split[3]]];
  const [dx, dy] = [x[b] - x[a], y[b] - y[a]];
  let realC = ((x[c] - x[a]) * dx + (y[c] - y[a]) * dy) / longest;
  let imaginaryC = ((y[c] - y[a]) * dx - (x[c] - x[a]) * dy) / longest;
  let realD = ((x[d] - x[a]) * dx + (y[d] - y[a]) * dy) / longest;
  let imaginaryD = ((y[d] - y[a]) * dx - (x[d] - x[a]) * dy) / longest;
  if (realC + realD > 1) {
    [a, b] = [b, a];
    [realC, imaginaryC] = [1 - realC, -imaginaryC];
    [realD, imaginaryD] = [1 - realD, -imaginaryD];
  }
  if (realC > realD) {
    [c, d] = [d, c];
    [realC, imaginaryC, realD, imaginaryD] = [realD, imaginaryD, realC, imaginaryC];
  }
  quads.codes.set([realC, imaginaryC, realD, imaginaryD], 4 * row);
  quads.stars.set([a, b, c, d], 4 * row);
  quads.sizes[row] = Math.sqrt(longest);
  return true;
}

/** Room for `count` figures. */
export function makeQuads(count: number): Quads {
  return {
    codes: new Float64Array(4 * count),
    stars: new Int32Array(4 * count),
    sizes: new Float64Array(count),
  };
}

/** A name for four places below 1024 that does not depend on their order. */
function nameMembers(members: Int32Array): number {
  let [a, b, c, d] = members;
  if (a > b) [a, b] = [b, a];
  if (c > d) [c, d] = [d, c];
  if (a > c) [a, c] = [c, a];
  if (b > d) [b, d] = [d, b];
  if (b > c) [b, c] = [c, b];
  return ((a * 1024 + b) * 1024 + c) * 1024 + d;
}

/** Figures that three of six neighbours make with a star. */
const figuresPerStar = 20;

/** All figures of neighbouring stars at every level of brightness up to `deepest` stars, each once. */
export function listQuads(list: SkyList, deepest: number): Quads {
  const total = list.x.length;
  const used = levels.filter((level, step) => level <= deepest && (step === 0 || levels[step - 1] < total));
  const capacity = used.reduce((sum, level) => sum + Math.min(level, total), 0) * figuresPerStar;
  const quads = makeQuads(capacity);
  const seen = new Set<number>();
  const nearest = new Int32Array(neighbours);
  const distances = new Float64Array(neighbours);
  const members = new Int32Array(4);
  let count = 0;
  for (const level of used) {
    const stars = Math.min(level, total);
    for (let own = 0; own < stars; own++) {
      const found = findNeighbours(list, own, stars, nearest, distances);
      members[0] = own;
      for (let i = 0; i < found; i++) {
        members[1] = nearest[i];
        for (let j = i + 1; j < found; j++) {
          members[2] = nearest[j];
          for (let k = j + 1; k < found; k++) {
            members[3] = nearest[k];
            const name = nameMembers(members);
            if (seen.has(name)) continue;
            seen.add(name);
            if (writeQuad(list, members, quads, count)) count++;
          }
        }
      }
    }
  }
  return {
    codes: quads.codes.subarray(0, 4 * count),
    stars: quads.stars.subarray(0, 4 * count),
    sizes: quads.sizes.subarray(0, count),
  };
}

/** The figures as a mirror shows them: imaginary parts turn their sign, the order of the stars stays. */
export function mirrorQuads(quads: Quads): Quads {
  return { ...quads, codes: quads.codes.map((value, place) => (place % 2 === 1 ? -value : value)) };
}
