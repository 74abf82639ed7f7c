import { thinRun } from "./path-steps.ts";
import type { ReliefSurface } from "./relief-surface.ts";
import { tracePath } from "./svg.ts";

/** Steps along a line in which the height is followed, and strips into which the sensor is cut (chosen: no step shows in print). */
const columns = 160;
const strips = 64;

/** The parts of a line across the sensor, in mm along x, at which the surface is no further off than the depth. */
function listInside(heightAt: (x: number) => number, widthMm: number, depthUm: number): [number, number][] {
  const parts: [number, number][] = [];
  let from: number | null = null;
  const over = (x: number) => Math.abs(heightAt(x)) - depthUm;
  let [lastX, last] = [-widthMm / 2, over(-widthMm / 2)];
  if (last <= 0) from = lastX;
  for (let k = 1; k <= columns; k++) {
    const x = -widthMm / 2 + (widthMm * k) / columns;
    const here = over(x);
    if (here > 0 !== last > 0) {
      const edge = lastX + ((x - lastX) * last) / (last - here);
      if (here <= 0) from = edge;
      else if (from !== null) {
        parts.push([from, edge]);
        from = null;
      }
    }
    [lastX, last] = [x, here];
  }
  if (from !== null) parts.push([from, widthMm / 2]);
  return parts;
}

type Point = [number, number];

/** One part of the area as far as it has been followed upwards: its two edges. */
interface Part {
  left: Point[];
  right: Point[];
}

/** Times that a strip is halved where parts begin, end, part or meet in it. */
const mostHalvings = 5;

/**
 * The area of the sensor within the depth of focus as path data, followed in strips from the lower edge upwards: a closed
 * outline for each part. A strip whose two sides differ in their number of parts is halved down to a thirtieth.
 */
export function traceDepthBand(
  surface: Pick<ReliefSurface, "height">,
  sensor: { widthMm: number; heightMm: number },
  depthUm: number,
  place: (x: number, y: number) => Point,
): string {
  const bottom = -sensor.heightMm / 2;
  const inside = (y: number) => listInside((x) => surface.height(x, y), sensor.widthMm, depthUm);
  const open = (parts: readonly [number, number][], y: number): Part[] =>
    parts.map(([left, right]) => ({ left: [place(left, y)], right: [place(right, y)] }));
  const done: Part[] = [];
  let current = open(inside(bottom), bottom);
  const climb = (lowY: number, highY: number, halvings: number): void => {
    const high = inside(highY);
    if (high.length === current.length) {
      current.forEach((part, k) => {
        part.left.push(place(high[k][0], highY));
        part.right.push(place(high[k][1], highY));
      });
    } else if (halvings > 0) {
      const middleY = (lowY + highY) / 2;
      climb(lowY, middleY, halvings - 1);
      climb(middleY, highY, halvings - 1);
    } else {
      done.push(...current);
      current = open(high, highY);
    }
  };
  const step = sensor.heightMm / strips;
  for (let k = 0; k < strips; k++) climb(bottom + k * step, bottom + (k + 1) * step, mostHalvings);
  return [...done, ...current]
    .filter(({ left }) => left.length > 1)
    .map(({ left, right }) => tracePath([...thinRun(left), ...thinRun(right).reverse()], true))
    .join("");
}
