import type { Band, Exposure, FieldAberrations, Optics, Tracking } from "../../demo/simulator/conditions.ts";
import { evaluateField } from "../../demo/simulator/field-point.ts";
import { flatField, plainExposure, plainOptics } from "../../demo/simulator/presets.ts";
import { choosePsfSampling, preparePsfMaker } from "../../demo/simulator/psf.ts";
import { measurePsfTruth, weighCubic } from "../../demo/simulator/psf-truth.ts";
import { estimateFaults } from "../../lib/field/expected-field.ts";
import { FAULTS } from "../../lib/field/field-model.ts";
import { listFaultShares } from "../../lib/field/field-problem.ts";
import type { FieldOptics, RadialMeans } from "../../lib/field/fit-field.ts";
import {
  computeHalfDiagonalMm,
  locateOnSensor,
  makeFullGeometry,
  type SensorGeometry,
} from "../../lib/field/geometry.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import { quantile } from "../../lib/maths/statistics.ts";
import { writeShape } from "../../lib/stars/average-stars.ts";
import { makeStarTable, type StarTable } from "../../lib/stars/star-table.ts";

/** One wavelength in the middle of a clear filter: the second is left out to save time. */
const singleBand: Band = {
  channel: "L",
  wavelengthsNm: [545],
  shares: [1],
  widthNm: 280,
  focusShiftUm: 0,
  lateralPpm: 0,
};

export interface SimulatedTrain {
  apertureMm: number;
  focalLengthMm: number;
  obstructionMm: number;
  sensorPx: [number, number];
  pixelPitchUm: number;
}

export interface SimulatedField {
  train: SimulatedTrain;
  field: Partial<FieldAberrations>;
  seeingArcsec: number;
  tracking: Tracking;
}

export const trainF55: SimulatedTrain = {
  apertureMm: 115,
  focalLengthMm: 636,
  obstructionMm: 0,
  sensorPx: [6248, 4176],
  pixelPitchUm: 3.76,
};

export function makeOptics(train: SimulatedTrain, radialMeans: RadialMeans): FieldOptics {
  return {
    focalRatio: train.focalLengthMm / train.apertureMm,
    obstructionRatio: train.obstructionMm / train.apertureMm,
    wavelengthUm: 0.545,
    umPerPx: train.pixelPitchUm,
    arcsecPerPx: (206.264806 * train.pixelPitchUm) / train.focalLengthMm,
    geometry: makeFullGeometry(train.sensorPx[0], train.sensorPx[1], train.pixelPitchUm),
    radialMeans,
  };
}

export type ShapeReader = (xMm: number, yMm: number) => [lnWidthPx: number, e1: number, e2: number];

/** Nodes at which true shapes are computed, over the sensor from edge to edge. */
const [columns, rows] = [11, 8];
const reach = 1.001;

type Shape = [lnWidthPx: number, e1: number, e2: number];

/** True shapes at the nodes of a grid, by the simulator's wave optics; row by row from the lower left. */
export function computeTrueNodes(simulated: SimulatedField, band: Band = singleBand): Shape[] {
  const { train } = simulated;
  const field: FieldAberrations = { ...flatField, ...simulated.field };
  const optics: Optics = { ...plainOptics, ...train, field };
  const exposure: Exposure = {
    ...plainExposure,
    seeingArcsec: simulated.seeingArcsec,
    tracking: simulated.tracking,
    bands: [band],
  };
  const [halfX, halfY] = train.sensorPx.map((px) => (px * train.pixelPitchUm) / 2000);
  let largest = 0;
  for (const x of [-halfX, 0, halfX]) {
    for (const y of [-halfY, 0, halfY]) {
      const point = evaluateField(field, x, y);
      largest = Math.max(largest, Math.abs(point.tangentialUm), Math.abs(point.sagittalUm));
    }
  }
  const sampling = choosePsfSampling(optics, exposure, train.pixelPitchUm, largest);
  const maker = preparePsfMaker(optics, exposure, band, sampling);
  return Array.from({ length: columns * rows }, (_, k) => {
    const x = halfX * reach * ((2 * (k % columns)) / (columns - 1) - 1);
    const y = halfY * reach * ((2 * Math.floor(k / columns)) / (rows - 1) - 1);
    const truth = measurePsfTruth(maker.makePsf(evaluateField(field, x, y)));
    if (truth === null) return [Number.NaN, Number.NaN, Number.NaN];
    const [a2, b2] = [truth.fwhmMajor ** 2, truth.fwhmMinor ** 2];
    const size = (a2 - b2) / (a2 + b2);
    const angle = -truth.angleRad;
    const lnWidth = Math.log((truth.fwhmMajor * truth.fwhmMinor) / sampling.oversampling ** 2) / 2;
    return [lnWidth, size * Math.cos(2 * angle), size * Math.sin(2 * angle)];
  });
}

/** Reads shapes between the nodes by cubics along both axes. */
export function makeShapeReader(nodes: readonly (readonly number[])[], train: SimulatedTrain): ShapeReader {
  const [halfX, halfY] = train.sensorPx.map((px) => (px * train.pixelPitchUm) / 2000);
  const node = (i: number, j: number, part: number): number => {
    // Beyond the edge by the parabola through the last three.
    if (i < 0) return 3 * node(0, j, part) - 3 * node(1, j, part) + node(2, j, part);
    if (i >= columns)
      return 3 * node(columns - 1, j, part) - 3 * node(columns - 2, j, part) + node(columns - 3, j, part);
    if (j < 0) return 3 * node(i, 0, part) - 3 * node(i, 1, part) + node(i, 2, part);
    if (j >= rows) return 3 * node(i, rows - 1, part) - 3 * node(i, rows - 2, part) + node(i, rows - 3, part);
    return nodes[j * columns + i][part];
  };
  return (xMm, yMm) => {
    const u = Math.max(0, Math.min(columns - 1.0001, ((xMm / halfX / reach + 1) / 2) * (columns - 1)));
    const v = Math.max(0, Math.min(rows - 1.0001, ((yMm / halfY / reach + 1) / 2) * (rows - 1)));
    const [i, j] = [Math.floor(u), Math.floor(v)];
    const [wx, wy] = [weighCubic(u - i), weighCubic(v - j)];
    const out: Shape = [0, 0, 0];
    for (let part = 0; part < 3; part++) {
      for (let p = 0; p < 4; p++) {
        for (let q = 0; q < 4; q++) out[part] += wx[p] * wy[q] * node(i + p - 1, j + q - 1, part);
      }
    }
    return out;
  };
}

export function computeTrueShapes(simulated: SimulatedField, band: Band = singleBand): ShapeReader {
  return makeShapeReader(computeTrueNodes(simulated, band), simulated.train);
}

/** Errors that measured stars state, of ln(width) and of e, times their signal to noise: faint stars lose more to the sky. */
function stateErrors(snr: number): { width: number; e: number } {
  const faint = 1 / (1 + snr / 70);
  return { width: (0.8 + 0.45 * faint) / snr, e: (1.22 + 0.9 * faint) / snr };
}

/** How far ln(width) changes from place to place: over a mesh of 5 x 5, less its extremes. */
function measureChange(shapes: ShapeReader, geometry: SensorGeometry): number {
  const parts = [-0.48, -0.24, 0, 0.24, 0.48];
  const widths = parts.flatMap((u) =>
    parts.map((v) => shapes(u * geometry.sensorWidthMm, v * geometry.sensorHeightMm)[0]),
  );
  return quantile(widths, 0.97) - quantile(widths, 0.03);
}

/**
 * A star table with the true shapes, and noise and faults as measured stars have them (test/references/field-cases says
 * how the two were held side by side): signal to noise from 15 upwards with many faint stars; a scatter of 0.5 % from star
 * to star; 2 % of the stars too wide; and what a star profile learned from the frame's bright stars gets wrong: all widths
 * by 0.8 %, and the smooth faults of widths and elongations that `estimateFaults` states.
 */
export function drawStarTable(
  shapes: ShapeReader,
  optics: FieldOptics,
  options: { stars: number; seed: number; outliers?: number },
): StarTable {
  const random = makeRandom(options.seed);
  const normal = makeNormalRandom(random);
  const table = makeStarTable(options.stars);
  const { geometry } = optics;
  const half = computeHalfDiagonalMm(geometry);
  const snrs = Array.from({ length: options.stars }, () => Math.min(2000, 16 * (1 - random()) ** -0.8));
  const teachers = Math.max(1, snrs.filter((snr) => snr > 50).length);
  const faults = estimateFaults(Math.exp(shapes(0, 0)[0]), teachers, measureChange(shapes, geometry));
  const common = 0.008 * normal();
  const smooth = faults.smooth.map((sigma) => sigma * normal());
  const gain = 1 + faults.gain * normal();
  const shares = new Float64Array(FAULTS.each);
  const addUp = (part: number): number =>
    shares.reduce((sum, share, k) => sum + smooth[part * FAULTS.each + k] * share, 0);
  for (let row = 0; row < options.stars; row++) {
    table.xPx[row] = 10 + random() * (geometry.widthPx - 20);
    table.yPx[row] = 10 + random() * (geometry.heightPx - 20);
    const { x, y } = locateOnSensor(geometry, table.xPx[row], table.yPx[row]);
    const snr = snrs[row];
    const stated = stateErrors(snr);
    const [lnWidth, e1, e2] = shapes(x, y);
    const wide = random() < (options.outliers ?? 0.02) ? 0.1 + 0.5 * random() : 0;
    listFaultShares(x / half, y / half, shares);
    const width = Math.exp(lnWidth + wide + common + addUp(0) + Math.hypot(stated.width, 0.005) * normal());
    const noise = Math.hypot(stated.e, 0.005);
    const pair = [gain * e1 + addUp(1), gain * e2 + addUp(2)].map((value) =>
      Math.max(-0.7, Math.min(0.7, value + noise * normal())),
    );
    writeShape(table, row, width, pair[0], pair[1]);
    table.snr[row] = snr;
    table.fwhmErr[row] = stated.width;
    table.eErr[row] = stated.e;
    table.flags[row] = 0;
  }
  return table;
}

/** Half the diagonal of a train's sensor, mm. */
export function measureHalfDiagonal(train: SimulatedTrain): number {
  return computeHalfDiagonalMm(makeFullGeometry(train.sensorPx[0], train.sensorPx[1], train.pixelPitchUm));
}
