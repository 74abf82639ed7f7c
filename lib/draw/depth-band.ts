import type { ReliefSurface } from "./relief-surface.ts";
import { formatCoordinate } from "./svg.ts";

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

/**
 * The area of the sensor within the depth of focus as path data: strips whose slanted ends follow its edge. Where a strip's
 * two sides differ in their number of parts, its middle stands for it.
 */
export function traceDepthBand(
  surface: Pick<ReliefSurface, "height">,
  sensor: { widthMm: number; heightMm: number },
  depthUm: number,
  place: (x: number, y: number) => [number, number],
): string {
  const step = sensor.heightMm / strips;
  const inside = (y: number) => listInside((x) => surface.height(x, y), sensor.widthMm, depthUm);
  const write = (x: number, y: number) => place(x, y).map(formatCoordinate).join(" ");
  let path = "";
  let [lowY, low] = [-sensor.heightMm / 2, inside(-sensor.heightMm / 2)];
  for (let k = 1; k <= strips; k++) {
    const highY = -sensor.heightMm / 2 + k * step;
    const high = inside(highY);
    const middle = low.length === high.length ? null : inside((lowY + highY) / 2);
    const [below, above] = middle === null ? [low, high] : [middle, middle];
    below.forEach(([left, right], part) => {
      path += `M${write(left, lowY)}L${write(right, lowY)}L${write(above[part][1], highY)}L${write(above[part][0], highY)}Z`;
    });
    [lowY, low] = [highY, high];
  }
  return path;
}
