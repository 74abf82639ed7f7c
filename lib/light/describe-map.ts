import type { CornerName, LightMap, LightRing } from "./flat-measurement.ts";
import { makeLightReader } from "./light-map.ts";
import { listCornerPoints } from "./light-path.ts";

export interface Outline {
  left: number;
  right: number;
  lower: number;
  upper: number;
}

/** The brightest point is looked for to this, mm. */
const finestMm = 0.01;
const compass = [-1, 0, 1]
  .flatMap((dx) => [-1, 0, 1].map((dy) => [dx, dy]))
  .filter(([dx, dy]) => dx !== 0 || dy !== 0);

/** The brightest point of a map within an outline and the light there: on a grid, then uphill from its best point. */
export function findBrightest(map: LightMap, outline: Outline): { x: number; y: number; light: number } {
  const read = makeLightReader(map);
  const columns = 60;
  const rows = Math.max(
    8,
    Math.round((columns * (outline.upper - outline.lower)) / (outline.right - outline.left)),
  );
  const stepX = (outline.right - outline.left) / columns;
  const stepY = (outline.upper - outline.lower) / rows;
  let best = { x: 0, y: 0, light: Number.NEGATIVE_INFINITY };
  for (let j = 0; j <= rows; j++) {
    for (let i = 0; i <= columns; i++) {
      const [x, y] = [outline.left + i * stepX, outline.lower + j * stepY];
      const light = read(x, y);
      if (light > best.light) best = { x, y, light };
    }
  }
  // Uphill in ever smaller steps: at a ring's edge the top is a ridge, which no parabola fits.
  for (let step = Math.max(stepX, stepY); step > finestMm; step /= 2) {
    for (let moved = true; moved; ) {
      moved = false;
      for (const [dx, dy] of compass) {
        const x = Math.min(outline.right, Math.max(outline.left, best.x + dx * step));
        const y = Math.min(outline.upper, Math.max(outline.lower, best.y + dy * step));
        const light = read(x, y);
        if (light <= best.light) continue;
        best = { x, y, light };
        moved = true;
      }
    }
  }
  return best;
}

/** Light at the very corners of the sensor, in the map's unit. */
export function readCorners(
  map: LightMap,
  sensor: { widthMm: number; heightMm: number },
): Record<CornerName, number> {
  const read = makeLightReader(map);
  const entries = listCornerPoints(sensor).map(({ corner, point }) => [corner, read(point.x, point.y)]);
  return Object.fromEntries(entries) as Record<CornerName, number>;
}

const directions = 144;

/** Light on circles about the sensor's centre as far as they lie within the outline, percent of `brightest`. */
export function listLightRings(
  map: LightMap,
  outline: Outline,
  brightest: number,
  largestMm: number,
  count: number,
): LightRing[] {
  const read = makeLightReader(map);
  const rings: LightRing[] = [];
  for (let k = 0; k <= count; k++) {
    const rMm = (largestMm * k) / count;
    let [sum, n, least, most] = [0, 0, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
    for (const [dx, dy] of chooseRays(outline, rMm)) {
      // A hair inwards, so that rounding does not put the very corner outside.
      const [x, y] = [rMm * dx * (1 - 1e-9), rMm * dy * (1 - 1e-9)];
      if (x < outline.left || x > outline.right || y < outline.lower || y > outline.upper) continue;
      const light = (100 * read(x, y)) / brightest;
      sum += light;
      n++;
      least = Math.min(least, light);
      most = Math.max(most, light);
    }
    if (n > 0) rings.push({ rMm, mean: sum / n, least, most });
  }
  return rings;
}

/**
 * Radius from the sensor's centre within which light stays above 99 % of the brightest, mm; null where the whole outline
 * is. 0 where the centre itself is darker.
 */
export function findFullyLitRadius(map: LightMap, outline: Outline, brightest: number): number | null {
  const read = makeLightReader(map);
  const limit = 0.99 * brightest;
  const far = Math.hypot(
    Math.max(-outline.left, outline.right, 0),
    Math.max(-outline.lower, outline.upper, 0),
  );
  const step = far / 200;
  let found: number | null = null;
  const rays = listRays(outline);
  for (const [dx, dy] of rays) {
    for (let r = 0; r <= far; r += step) {
      if (found !== null && r >= found) break;
      const [x, y] = [r * dx, r * dy];
      if (x < outline.left || x > outline.right || y < outline.lower || y > outline.upper) break;
      if (read(x, y) >= limit) continue;
      let [inside, outside] = [Math.max(0, r - step), r];
      for (let pass = 0; pass < 12 && r > 0; pass++) {
        const middle = (inside + outside) / 2;
        if (read(middle * dx, middle * dy) >= limit) inside = middle;
        else outside = middle;
      }
      found = Math.min(found ?? Number.POSITIVE_INFINITY, r === 0 ? 0 : outside);
      break;
    }
  }
  return found;
}

/** Even directions; where a circle meets the outline in its corners only, those to the corners. */
function chooseRays(outline: Outline, rMm: number): [number, number][] {
  const rays = listRays(outline);
  const even = rays.slice(0, directions);
  const inside = even.filter(
    ([dx, dy]) =>
      rMm * dx >= outline.left &&
      rMm * dx <= outline.right &&
      rMm * dy >= outline.lower &&
      rMm * dy <= outline.upper,
  );
  return inside.length >= 8 ? inside : rays.slice(directions);
}

/** Even directions, and those to the corners themselves, where light is least. */
function listRays(outline: Outline): [number, number][] {
  const even = Array.from({ length: directions }, (_, a) => (2 * Math.PI * a) / directions);
  const corners = [outline.left, outline.right].flatMap((x) =>
    [outline.lower, outline.upper].map((y) => Math.atan2(y, x)),
  );
  return [...even, ...corners].map((angle) => [Math.cos(angle), Math.sin(angle)]);
}
