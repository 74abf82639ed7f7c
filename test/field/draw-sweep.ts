import { readFileSync } from "node:fs";
import { join } from "node:path";
import { weighCubic } from "../../demo/simulator/psf-truth.ts";
import { makeFullGeometry } from "../../lib/field/geometry.ts";
import type { SweepFrame } from "../../lib/field/sweep.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import { writeShape } from "../../lib/stars/average-stars.ts";
import { makeStarTable } from "../../lib/stars/star-table.ts";

interface DefocusedStars {
  name: string;
  apertureMm: number;
  focalLengthMm: number;
  obstructionMm: number;
  seeingArcsec: number;
  stepUm: number;
  alongUm: number[][];
}

const sets = JSON.parse(
  readFileSync(join(import.meta.dirname, "../references/defocused-stars/defocused-stars.json"), "utf8"),
) as DefocusedStars[];

/** The stored widths of a telescope at a seeing; the seeing must be one of those drawn. */
export function findDefocusedStars(name: string, seeingArcsec: number): DefocusedStars {
  const found = sets.find((set) => set.name === name && set.seeingArcsec === seeingArcsec);
  if (found === undefined) throw new Error(`no stars of ${name} at ${seeingArcsec} arcsec are stored`);
  return found;
}

/** The two stored seeings about the one wanted, and the share of the greater: widths between them are nearly straight. */
function chooseSets(name: string, seeingArcsec: number) {
  const stored = sets.filter((set) => set.name === name).sort((a, b) => a.seeingArcsec - b.seeingArcsec);
  const above = Math.max(
    1,
    stored.findIndex((set) => set.seeingArcsec >= seeingArcsec),
  );
  const [low, high] = [stored[above - 1] ?? stored[0], stored[above] ?? stored[0]];
  const span = high.seeingArcsec - low.seeingArcsec;
  return { low, high, share: span > 0 ? (seeingArcsec - low.seeingArcsec) / span : 0 };
}

/** Width along the radius, um, of a star drawn by physical optics whose foci lie at the heights given. */
export function readAlongUm(set: DefocusedStars, tangentialUm: number, sagittalUm: number): number {
  const last = set.alongUm.length - 1;
  const sign = tangentialUm < 0 ? -1 : 1;
  const u = (sign * tangentialUm) / set.stepUm;
  const v = (sign * sagittalUm) / set.stepUm + last;
  const read = (i: number, j: number) => {
    // Negating both heights changes nothing; of the first row, too, only the half from 0 on is stored.
    const [row, column] = i < 0 || (i === 0 && j < last) ? [-i, 2 * last - j] : [i, j];
    return set.alongUm[Math.min(last, row)][Math.max(0, Math.min(2 * last, column))];
  };
  const [i, j] = [Math.floor(u), Math.floor(v)];
  const [wi, wj] = [weighCubic(u - i), weighCubic(v - j)];
  let sum = 0;
  for (let a = 0; a < 4; a++) for (let b = 0; b < 4; b++) sum += wi[a] * wj[b] * read(i + a - 1, j + b - 1);
  return sum;
}

export interface SurfacePlan {
  defocusUm: number;
  tiltX: number;
  tiltY: number;
  curvature: number;
  astigmatism: number;
  centreMm: { x: number; y: number };
}

/** A 26-megapixel sensor of 23.5 x 15.7 mm. */
export const sweepGeometry = makeFullGeometry(6248, 4176, 3.76);

export interface SweepPlan {
  seed: number;
  telescope?: string;
  surface: SurfacePlan;
  /** Sensor's positions, um, positive away from the telescope; the surface's heights hold at 0. */
  positionsUm: readonly number[];
  /** One per frame, 1.8 to 3.4 arcsec. */
  seeingArcsec: readonly number[];
  stars: number;
  /** One sigma of ln(fwhm) of the star list, and of e1, e2. */
  noise: number;
  /** Error of each position as the focuser tells it, um. */
  positionErrorUm?: readonly number[];
  /** Tracking of each frame as a change of the squares, um2. */
  tracking?: readonly { e1: number; e2: number }[];
  /** Share of stars that are found at all in a frame, by position; 1 where left out. */
  found?: (positionUm: number, heightUm: number) => boolean;
}

/**
 * Star tables of a sweep whose widths come from physical optics (Fourier transform of the pupil's wave front, Kolmogorov
 * seeing; see test/references/defocused-stars), with the stars' noise added: not from the model that is fitted.
 */
export function drawSweep(plan: SweepPlan): SweepFrame[] {
  const random = makeRandom(plan.seed);
  const normal = makeNormalRandom(random);
  const sky = Array.from({ length: plan.stars }, () => ({
    xPx: 10 + random() * (sweepGeometry.widthPx - 20),
    yPx: 10 + random() * (sweepGeometry.heightPx - 20),
  }));
  return plan.positionsUm.map((positionUm, f) => {
    const { low, high, share } = chooseSets(plan.telescope ?? "f/5.5", plan.seeingArcsec[f]);
    const read = (first: number, second: number) =>
      (1 - share) * readAlongUm(low, first, second) + share * readAlongUm(high, first, second);
    const table = makeStarTable(sky.length);
    sky.forEach((star, row) => {
      const x = (star.xPx - (sweepGeometry.widthPx - 1) / 2) * 0.00376;
      const y = -(star.yPx - (sweepGeometry.heightPx - 1) / 2) * 0.00376;
      const { surface } = plan;
      const [dx, dy] = [x - surface.centreMm.x, y - surface.centreMm.y];
      const r2 = dx * dx + dy * dy;
      const mean =
        surface.defocusUm + positionUm + surface.tiltX * x + surface.tiltY * y + surface.curvature * r2;
      const half = surface.astigmatism * r2;
      const along2 = read(mean + half, mean - half) ** 2;
      const across2 = read(mean - half, mean + half) ** 2;
      const [sum, difference] = [(along2 + across2) / 2, (along2 - across2) / 2];
      const q1 = (difference * (dx * dx - dy * dy)) / r2 + (plan.tracking?.[f]?.e1 ?? 0);
      const q2 = (difference * 2 * dx * dy) / r2 + (plan.tracking?.[f]?.e2 ?? 0);
      const widthPx = (sum * sum - q1 * q1 - q2 * q2) ** 0.25 / 3.76;
      table.xPx[row] = star.xPx;
      table.yPx[row] = star.yPx;
      writeShape(
        table,
        row,
        widthPx * Math.exp(plan.noise * normal()),
        q1 / sum + plan.noise * normal(),
        q2 / sum + plan.noise * normal(),
      );
      table.fwhmErr[row] = plan.noise;
      table.eErr[row] = plan.noise;
      table.snr[row] = 1 / plan.noise;
      table.fluxAdu[row] = 1000;
      if (plan.found?.(positionUm, mean - positionUm) === false) table.flags[row] = 1024;
    });
    return {
      file: `sweep-${f + 1}.fits`,
      positionUm: positionUm + (plan.positionErrorUm?.[f] ?? 0),
      stars: table,
    };
  });
}
