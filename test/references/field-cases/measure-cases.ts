/**
 * Draws whole frames of random cases and measures them as the program does, to hold the fast star tables against.
 * Usage: npx tsx measure-cases.ts FIRST_SEED COUNT OUT.jsonl
 *
 * The sensor is a small one with the same aberrations at its corner as the case's own, so that drawing stays quick.
 */
import { appendFileSync } from "node:fs";
import { prepareBackground } from "../../../demo/simulator/background.ts";
import type { Exposure, Optics, SimulatedCamera } from "../../../demo/simulator/conditions.ts";
import { drawStars } from "../../../demo/simulator/draw-stars.ts";
import { evaluateField } from "../../../demo/simulator/field-point.ts";
import { makeRowExposer } from "../../../demo/simulator/noise.ts";
import { flatField, plainCamera, plainExposure, plainOptics } from "../../../demo/simulator/presets.ts";
import { choosePsfSampling, preparePsfMaker } from "../../../demo/simulator/psf.ts";
import { computePsfField } from "../../../demo/simulator/psf-field.ts";
import { makeRandomSource } from "../../../demo/simulator/random.ts";
import { countZeroMagnitudeElectrons, emptyScene, type Scene } from "../../../demo/simulator/scene.ts";
import { mapTruth } from "../../../demo/simulator/truth-map.ts";
import { makeRandom } from "../../../lib/maths/random.ts";
import { measurePlane } from "../../../lib/stars/measure-plane.ts";
import { UNUSABLE } from "../../../lib/stars/star-table.ts";
import { runInline } from "../../../lib/stars/star-task.ts";
import { measureHalfDiagonal, type SimulatedField } from "../../field/simulate-tables.ts";
import { drawCase } from "./make-cases.ts";

const wholePx: [number, number] = [6248, 4176];
const smallPx: [number, number] = [2250, 1504];
const starCounts = [60, 300, 1000];

/** The case on a sensor of another size: heights at the corner as they were. */
export function resizeCase(simulated: SimulatedField, sensorPx: [number, number]): SimulatedField {
  const train = { ...simulated.train, sensorPx };
  const scale = measureHalfDiagonal(simulated.train) / measureHalfDiagonal(train);
  const { field } = simulated;
  const centre = field.centreMm ?? { x: 0, y: 0 };
  return {
    ...simulated,
    train,
    field: {
      ...field,
      tiltX: (field.tiltX ?? 0) * scale,
      tiltY: (field.tiltY ?? 0) * scale,
      curvature: (field.curvature ?? 0) * scale ** 2,
      astigmatism: (field.astigmatism ?? 0) * scale ** 2,
      comaUmPerMm: (field.comaUmPerMm ?? 0) * scale,
      centreMm: { x: centre.x / scale, y: centre.y / scale },
    },
  };
}

/** The small sensor's star images are those of the whole one, node for node: the aberrations are the same, only nearer. */
function prepareField(whole: SimulatedField, exposure: Exposure) {
  const optics: Optics = { ...plainOptics, ...whole.train, field: { ...flatField, ...whole.field } };
  const [halfX, halfY] = wholePx.map((px) => (px * whole.train.pixelPitchUm) / 2000);
  const heights = [-halfX, 0, halfX].flatMap((x) =>
    [-halfY, 0, halfY].flatMap((y) => {
      const { tangentialUm, sagittalUm } = evaluateField(optics.field, x, y);
      return [Math.abs(tangentialUm), Math.abs(sagittalUm)];
    }),
  );
  const sampling = choosePsfSampling(optics, exposure, whole.train.pixelPitchUm, Math.max(...heights));
  const maker = preparePsfMaker(optics, exposure, exposure.bands[0], sampling);
  const sensor = { widthPx: wholePx[0], heightPx: wholePx[1], pixelPitchUm: whole.train.pixelPitchUm };
  const field = computePsfField(maker, optics.field, sensor, 0);
  return {
    ...field,
    stepXPx: (smallPx[0] - 1) / (field.columns - 1),
    stepYPx: (smallPx[1] - 1) / (field.rows - 1),
  };
}

function exposeFrame(field: ReturnType<typeof prepareField>, scene: Scene, optics: Optics, camera: SimulatedCamera, exposure: Exposure, seed: number): Uint16Array {
  const { widthPx, heightPx } = camera;
  const frame = { widthPx, heightPx, electrons: new Float32Array(widthPx * heightPx) };
  const background = prepareBackground(scene, optics, camera, exposure, exposure.bands[0]);
  const row = new Float32Array(widthPx);
  background(heightPx >> 1, row);
  const noise = Math.sqrt(row[widthPx >> 1] + camera.readNoiseElectrons ** 2);
  if (scene.placed !== null) drawStars(frame, field, scene.placed, [true, true, true, true], 0.03 * noise);
  const samples = new Uint16Array(widthPx * heightPx);
  const expose = makeRowExposer(camera, makeRandomSource(seed));
  for (let y = 0; y < heightPx; y++) {
    const light = frame.electrons.subarray(y * widthPx, (y + 1) * widthPx);
    background(y, row);
    for (let x = 0; x < widthPx; x++) light[x] += row[x];
    expose(light, samples, y * widthPx);
  }
  return samples;
}

/** Stars with many faint ones, from a signal to noise of about 16 upwards, none nearer than 22 px to another. */
function placeStars(count: number, faintestElectrons: number, seed: number): Scene {
  const random = makeRandom(seed);
  const [xPx, yPx, flux]: [number[], number[], number[]] = [[], [], []];
  for (let attempt = 0; attempt < 40 * count && xPx.length < count; attempt++) {
    const [x, y] = [14 + random() * (smallPx[0] - 28), 14 + random() * (smallPx[1] - 28)];
    if (xPx.some((other, k) => Math.hypot(other - x, yPx[k] - y) < 22)) continue;
    xPx.push(x);
    yPx.push(y);
    flux.push(Math.min(faintestElectrons * (1 - random()) ** -0.8, 400_000));
  }
  const placed = {
    xPx: Float64Array.from(xPx),
    yPx: Float64Array.from(yPx),
    fluxElectrons: Float64Array.from(flux),
  };
  return { ...emptyScene, placed };
}

/** Columns of the measured stars; the last three are the truth: ln of the mean width in px, e1, e2. */
export type MeasuredRow = [x: number, y: number, snr: number, lnWidth: number, e1: number, e2: number, errWidth: number, errE: number, trueLnWidth: number, trueE1: number, trueE2: number];

export async function measureCase(simulated: SimulatedField, stars: number, seed: number): Promise<MeasuredRow[]> {
  const whole = resizeCase(simulated, wholePx);
  const { train } = whole;
  const camera = { ...plainCamera, widthPx: smallPx[0], heightPx: smallPx[1], pixelPitchUm: train.pixelPitchUm };
  const optics = { ...plainOptics, ...train };
  const exposure = { ...plainExposure, seeingArcsec: simulated.seeingArcsec, tracking: simulated.tracking };
  const field = prepareField(whole, exposure);
  if (field.nodes.some(({ truth }) => truth === null)) return [];
  const arcsecPerPx = (206.264806 * train.pixelPitchUm) / train.focalLengthMm;
  const zero = countZeroMagnitudeElectrons(optics, camera.quantumEfficiency, exposure.bands[0].widthNm, exposure.exposureS);
  const sky = zero * 10 ** (-0.4 * exposure.skyMagnitude) * arcsecPerPx ** 2 + camera.readNoiseElectrons ** 2;
  const sigmaPx = (1.2 * simulated.seeingArcsec) / arcsecPerPx / 2.355;
  const scene = placeStars(stars, 20 * Math.sqrt(4 * Math.PI * sigmaPx ** 2 * sky) + 400, seed);
  const samples = exposeFrame(field, scene, optics, camera, exposure, seed);
  const plane = { samples, widthPx: camera.widthPx, heightPx: camera.heightPx, sites: [true, true, true, true] as const };
  const noise = { gainElectronsPerAdu: camera.gainElectronsPerAdu, readNoiseElectrons: camera.readNoiseElectrons, saturationAdu: null };
  const { stars: table } = await measurePlane(plane, "L", noise, runInline);
  const shapeAt = mapTruth(field, smallPx[0], smallPx[1]);
  const rows: MeasuredRow[] = [];
  for (let row = 0; row < table.flags.length; row++) {
    if ((table.flags[row] & UNUSABLE) !== 0) continue;
    const truth = shapeAt(table.xPx[row], table.yPx[row]);
    const [a2, b2] = [truth.fwhmMajorPx ** 2, truth.fwhmMinorPx ** 2];
    const size = (a2 - b2) / (a2 + b2);
    const angle = (truth.angleDeg * Math.PI) / 90;
    const list = [
      table.xPx[row], table.yPx[row], table.snr[row],
      Math.log(table.fwhmMajorPx[row] * table.fwhmMinorPx[row]) / 2, table.e1[row], table.e2[row],
      table.fwhmErr[row], table.eErr[row],
      Math.log(a2 * b2) / 4, size * Math.cos(angle), size * Math.sin(angle),
    ];
    rows.push(list.map((value) => Number(value.toFixed(5))) as MeasuredRow);
  }
  return rows;
}

const [first, count, out] = process.argv.slice(2);
if (out !== undefined && process.argv[1].endsWith("measure-cases.ts")) {
  for (let seed = Number(first); seed < Number(first) + Number(count); seed++) {
    const simulated = drawCase(seed);
    const stars = starCounts[seed % starCounts.length];
    const rows = await measureCase(simulated, stars, seed);
    if (rows.length < 30) continue;
    appendFileSync(out, `${JSON.stringify({ seed, stars, ...resizeCase(simulated, smallPx), rows })}\n`);
  }
}
