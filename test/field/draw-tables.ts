import { makeFullGeometry, type SensorGeometry } from "../../lib/field/geometry.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import { writeShape } from "../../lib/stars/average-stars.ts";
import { makeStarTable, type StarTable } from "../../lib/stars/star-table.ts";

export const geometry26: SensorGeometry = makeFullGeometry(6248, 4176, 3.76);
export const scale26 = { umPerPx: 3.76, arcsecPerPx: 1.2 };

export interface TablePlan {
  seed: number;
  stars: number;
  frames: number;
  /** Fraction by which stars' widths differ from one another. */
  starScatter?: number;
  /** One sigma of the frames' common change of width, a fraction. */
  frameScatter?: number;
  /** Fit noise of ln(fwhm) and of e1, e2. */
  noise?: number;
  /** Share of stars that are 30 to 130 % too wide. */
  outliers?: number;
  dither?: { x: number; y: number; turnDeg: number }[];
  shape?: (xMm: number, yMm: number) => { fwhmPx: number; e1: number; e2: number };
  place?: (random: () => number) => { xPx: number; yPx: number };
}

/** Star tables of one pointing over a 26-megapixel sensor, drawn from stated scatter; the same seed, the same tables. */
export function drawTables(plan: TablePlan): StarTable[] {
  const { starScatter = 0.03, frameScatter = 0, noise = 0.02, outliers = 0 } = plan;
  const random = makeRandom(plan.seed);
  const normal = makeNormalRandom(random);
  const place = plan.place ?? ((draw) => ({ xPx: 20 + draw() * 6208, yPx: 20 + draw() * 4136 }));
  const shape = plan.shape ?? (() => ({ fwhmPx: 3, e1: 0, e2: 0 }));
  const sky = Array.from({ length: plan.stars }, () => {
    const wide = random() < outliers ? 1.3 + random() : 1;
    return {
      ...place(random),
      flux: 2000 * (random() + 1e-4) ** -1.2,
      factor: wide * (1 + starScatter * normal()),
    };
  }).sort((a, b) => b.flux - a.flux);
  return Array.from({ length: plan.frames }, (_, frame) => {
    const night = 1 + frameScatter * normal();
    const { x: dx, y: dy, turnDeg } = plan.dither?.[frame] ?? { x: 0, y: 0, turnDeg: 0 };
    const turn = (turnDeg * Math.PI) / 180;
    const table = makeStarTable(plan.stars);
    sky.forEach((star, row) => {
      const [u, v] = [star.xPx - 3124, star.yPx - 2088];
      table.xPx[row] = 3124 + u * Math.cos(turn) - v * Math.sin(turn) + dx + 0.02 * normal();
      table.yPx[row] = 2088 + u * Math.sin(turn) + v * Math.cos(turn) + dy + 0.02 * normal();
      const xMm = (table.xPx[row] - 3123.5) * 0.00376;
      const yMm = -(table.yPx[row] - 2087.5) * 0.00376;
      const { fwhmPx, e1, e2 } = shape(xMm, yMm);
      const width = fwhmPx * star.factor * night * Math.exp(noise * normal());
      writeShape(table, row, width, e1 + noise * normal(), e2 + noise * normal());
      table.hfdPx[row] = 1.1 * width;
      table.ee80Px[row] = 1.8 * width;
      table.sampledFwhmPx[row] = Math.hypot(width, 0.7);
      table.fluxAdu[row] = star.flux * (1 + 0.01 * normal());
      table.snr[row] = 1 / noise;
      table.peakAdu[row] = star.flux / 10;
      table.backgroundAdu[row] = 500;
      table.xErrPx[row] = 0.02;
      table.yErrPx[row] = 0.02;
      table.fwhmErr[row] = noise;
      table.eErr[row] = noise;
      table.fluxErrAdu[row] = star.flux * 0.01;
      table.chi2[row] = 1;
    });
    return table;
  });
}
