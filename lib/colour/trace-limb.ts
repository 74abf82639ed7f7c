import { fitHuber } from "../maths/robust-fit.ts";
import { median, quantile } from "../maths/statistics.ts";
import type { SamplePlane } from "../stars/samples.ts";
import type { Circle } from "./find-limb.ts";

/** A short piece of limb: where it lies off the circle, and whether it is bright enough to be measured. */
export interface LimbCell {
  /** Of the outward normal, radians, y down as the pixels count. */
  angle: number;
  /** px outwards from the circle. */
  offsetPx: number;
  bright: boolean;
}

export interface TracedLimb {
  circle: Circle;
  cells: LimbCell[];
}

/** Length of a cell along the limb, px: short beside the mountains of the limb, long enough for its noise. */
const cellPx = 24;
/** Distances read either side of the circle, px. */
export const reachPx = 32;
/** A cell counts as bright limb above this share of the bright ones' light. */
const brightShare = 0.4;
/** Cells farther off the circle than this are no limb: the highest mountains reach 0.4 % of the radius. */
const farthestShare = 0.004;
const rounds = 4;

interface CellProfile {
  /** Mean light by whole px outwards, from -reach to reach; NaN where no pixel fell. */
  light: Float64Array;
}

function readCells(plane: SamplePlane, circle: Circle, count: number, reach: number): CellProfile[] {
  const size = 2 * reach + 1;
  const sums = new Float64Array(count * size);
  const hits = new Float64Array(count * size);
  forEachNear(plane, circle, reach + 1, (_x, _y, distance, angle, value) => {
    const bin = Math.round(distance) + reach;
    if (bin < 0 || bin >= size || !Number.isFinite(value)) return;
    const cell = Math.min(count - 1, Math.floor((angle / (2 * Math.PI)) * count));
    sums[cell * size + bin] += value;
    hits[cell * size + bin]++;
  });
  return Array.from({ length: count }, (_, cell) => ({
    light: Float64Array.from(
      { length: size },
      (_value, bin) => sums[cell * size + bin] / hits[cell * size + bin],
    ),
  }));
}

/** Visits the channel's pixels within `reach` px of a circle with their distance outwards and angle (0 to 2 pi, y down). */
export function forEachNear(
  plane: SamplePlane,
  { xPx, yPx, radiusPx }: Circle,
  reach: number,
  visit: (x: number, y: number, distancePx: number, angle: number, value: number) => void,
): void {
  const outer = radiusPx + reach;
  const inner = Math.max(0, radiusPx - reach);
  for (let y = Math.max(0, Math.ceil(yPx - outer)); y <= Math.min(plane.heightPx - 1, yPx + outer); y++) {
    const dy = y - yPx;
    const half = Math.sqrt(Math.max(0, outer * outer - dy * dy));
    const hole = Math.abs(dy) < inner ? Math.sqrt(inner * inner - dy * dy) : 0;
    for (let x = Math.max(0, Math.ceil(xPx - half)); x <= Math.min(plane.widthPx - 1, xPx + half); x++) {
      const dx = x - xPx;
      if (Math.abs(dx) < hole || !plane.sites[(x & 1) + 2 * (y & 1)]) continue;
      const angle = Math.atan2(dy, dx);
      visit(
        x,
        y,
        Math.hypot(dx, dy) - radiusPx,
        angle < 0 ? angle + 2 * Math.PI : angle,
        plane.samples[y * plane.widthPx + x],
      );
    }
  }
}

/** Half-light place of a cell, its disc's light over the sky, and the light's greatest value there. */
function readCell(
  { light }: CellProfile,
  reach: number,
): { offsetPx: number; disc: number; top: number } | null {
  if (light.some(Number.isNaN)) return null;
  const quarter = Math.floor(reach / 2);
  const sky = median(light.subarray(light.length - quarter));
  const disc = median(light.subarray(0, quarter)) - sky;
  const level = sky + disc / 2;
  // From outside inwards: craters and shadows inside the disc are not the limb.
  for (let k = light.length - 2; k >= 0; k--) {
    if (light[k] >= level && light[k + 1] < level) {
      const offsetPx = k + (light[k] - level) / (light[k] - light[k + 1]) - reach;
      return { offsetPx, disc, top: light.reduce((most, value) => Math.max(most, value), 0) };
    }
  }
  return null;
}

/**
 * Follows the bright limb about a circle known to some px: refines the circle on the bright cells (Huber) and gives each cell's
 * own distance from it, which is terrain and what the air shook. Cells of the dark limb, on the terminator, at the frame's
 * border or saturated are not bright.
 */
export function traceLimb(plane: SamplePlane, start: Circle, saturationAdu: number): TracedLimb | null {
  let circle = start;
  let traced: TracedLimb | null = null;
  for (let round = 0; round < rounds; round++) {
    // Wide at first: the start is good to a block of the coarse map only.
    const reach = round === 0 ? 2 * reachPx : reachPx;
    const count = Math.max(36, Math.floor((2 * Math.PI * circle.radiusPx) / cellPx));
    const read = readCells(plane, circle, count, reach).map((profile) => readCell(profile, reach));
    const known = read.filter((cell) => cell !== null);
    if (known.length < 12) return null;
    const bright =
      brightShare *
      quantile(
        known.map(({ disc }) => disc),
        0.9,
      );
    const cells = read.map((cell, k): LimbCell => {
      const angle = ((k + 0.5) / count) * 2 * Math.PI;
      const isBright = cell !== null && cell.disc > bright && cell.top < saturationAdu;
      return { angle, offsetPx: cell?.offsetPx ?? Number.NaN, bright: isBright };
    });
    const moved = refineCircle(circle, cells);
    if (moved === null) return null;
    traced = moved;
    circle = moved.circle;
  }
  return traced;
}

function refineCircle(circle: Circle, cells: readonly LimbCell[]): TracedLimb | null {
  const used = cells.filter(({ bright }) => bright);
  if (used.length < 12) return null;
  const design = used.flatMap(({ angle }) => [1, Math.cos(angle), Math.sin(angle)]);
  const fit = fitHuber(
    design,
    used.map(({ offsetPx }) => offsetPx),
    3,
  );
  if (fit === null) return null;
  const [grown, x, y] = fit.coefficients;
  const farthest = Math.max(2, farthestShare * circle.radiusPx);
  return {
    circle: { xPx: circle.xPx + x, yPx: circle.yPx + y, radiusPx: circle.radiusPx + grown },
    cells: cells.map(({ angle, offsetPx, bright }) => {
      const left = offsetPx - grown - x * Math.cos(angle) - y * Math.sin(angle);
      return { angle, offsetPx: left, bright: bright && Math.abs(left) < farthest };
    }),
  };
}
