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
/** Levels that most pairs of frames need, and all there are. */
export const LEVEL_STEPS = [200, 800] as const;
/** Neighbours a star is joined with, three at a time: room for some that the other frame lacks. */
const neighbours = 6;
/** Smaller figures are mostly position error, px. */
const leastSizePx = 12;

/** Places of the `count` nearest of the first `level` stars to star `own`, nearest first. */
function findNeighbours(list: SkyList, own: number, level: number, count: number): number[] {
  const nearest: number[] = [];
  const distances: number[] = [];
  for (let other = 0; other < level; other++) {
    if (other === own) continue;
    const distance = (list.x[other] - list.x[own]) ** 2 + (list.y[other] - list.y[own]) ** 2;
    if (nearest.length === count && distance >= distances[count - 1]) continue;
    let place = Math.min(nearest.length, count - 1);
    while (place > 0 && distances[place - 1] > distance) {
      nearest[place] = nearest[place - 1];
      distances[place] = distances[place - 1];
      place--;
    }
    nearest[place] = other;
    distances[place] = distance;
  }
  return nearest;
}

/** Four stars in the order A, B, C, D with their code; null where the figure is too small. */
export function describeQuad(
  list: SkyList,
  members: readonly number[],
): { stars: [number, number, number, number]; code: [number, number, number, number]; size: number } | null {
  let [first, second, longest] = [0, 1, -1];
  for (let i = 0; i < 4; i++) {
    for (let j = i + 1; j < 4; j++) {
      const distance = Math.hypot(
        list.x[members[j]] - list.x[members[i]],
        list.y[members[j]] - list.y[members[i]],
      );
      if (distance > longest) [first, second, longest] = [i, j, distance];
    }
  }
  if (!(longest >= leastSizePx)) return null;
  const rest = [0, 1, 2, 3].filter((place) => place !== first && place !== second);
  const [a, b] = [members[first], members[second]];
  const [dx, dy] = [list.x[b] - list.x[a], list.y[b] - list.y[a]];
  const place = (star: number): [number, number] => {
    const [x, y] = [list.x[star] - list.x[a], list.y[star] - list.y[a]];
    return [(x * dx + y * dy) / longest ** 2, (y * dx - x * dy) / longest ** 2];
  };
  let [c, d] = [members[rest[0]], members[rest[1]]];
  let [placeC, placeD] = [place(c), place(d)];
  let ends: [number, number] = [a, b];
  if (placeC[0] + placeD[0] > 1) {
    ends = [b, a];
    placeC = [1 - placeC[0], -placeC[1]];
    placeD = [1 - placeD[0], -placeD[1]];
  }
  if (placeC[0] > placeD[0]) {
    [c, d] = [d, c];
    [placeC, placeD] = [placeD, placeC];
  }
  return { stars: [...ends, c, d], code: [...placeC, ...placeD], size: longest };
}

/** All figures of neighbouring stars at every level of brightness up to `deepest` stars, each once. */
export function listQuads(list: SkyList, deepest: number): Quads {
  const codes: number[] = [];
  const stars: number[] = [];
  const sizes: number[] = [];
  const seen = new Set<number>();
  const total = list.x.length;
  for (const [step, level] of levels.entries()) {
    const count = Math.min(level, total);
    if (level > deepest || (step > 0 && levels[step - 1] >= total)) break;
    for (let own = 0; own < count; own++) {
      const near = findNeighbours(list, own, count, neighbours);
      for (let i = 0; i < near.length; i++) {
        for (let j = i + 1; j < near.length; j++) {
          for (let k = j + 1; k < near.length; k++) {
            const members = [own, near[i], near[j], near[k]].sort((left, right) => left - right);
            const name = ((members[0] * 1024 + members[1]) * 1024 + members[2]) * 1024 + members[3];
            if (seen.has(name)) continue;
            seen.add(name);
            const quad = describeQuad(list, members);
            if (quad === null) continue;
            codes.push(...quad.code);
            stars.push(...quad.stars);
            sizes.push(quad.size);
          }
        }
      }
    }
  }
  return {
    codes: Float64Array.from(codes),
    stars: Int32Array.from(stars),
    sizes: Float64Array.from(sizes),
  };
}
