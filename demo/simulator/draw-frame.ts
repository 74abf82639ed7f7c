import { drawCosmicRays, drawHotPixels, drawTrail } from "./artefacts.ts";
import { type BackgroundRow, prepareBackground } from "./background.ts";
import type { Band, ColourFilterArray, Exposure, Optics, SimulatedCamera } from "./conditions.ts";
import { drawStars, type ElectronFrame, type Sites } from "./draw-stars.ts";
import { evaluateField } from "./field-point.ts";
import { makeRowExposer } from "./noise.ts";
import { projectStars } from "./project-stars.ts";
import { choosePsfSampling, preparePsfMaker } from "./psf.ts";
import { computePsfField, type PsfField } from "./psf-field.ts";
import { makeRandomSource } from "./random.ts";
import type { PlacedStars, Scene } from "./scene.ts";
import type { StarTruth } from "./star-truth.ts";
import { mapTruth } from "./truth-map.ts";

export interface DrawnFrame {
  /** ADU, row-major, row 0 the displayed top. */
  samples: Uint16Array;
  widthPx: number;
  heightPx: number;
  /** Stars of the first channel (L; G of a colour camera) whose centres lie on the sensor. */
  truth: StarTruth;
  /** The same for every channel, by its name. */
  channels: Record<string, StarTruth>;
}

/** Seed of the camera's own flaws: the same in all its frames. */
const cameraSeed = 26_000_001;

/**
 * Draws one exposure. Pure: the same arguments give the same samples. Light is counted in electrons: stars and sky
 * through the vignetted optics, then photon and read noise, gain, bias, and clipping at saturation.
 *
 * A camera without colour filters takes the first band of the exposure; one with filters takes the bands named R, G and
 * B, each drawn on its own pixels only. A star's `fluxElectrons` is what it would leave if all pixels had its colour.
 * `truth: false` leaves the widths out (NaN), which saves a little time.
 */
export function drawFrame(
  scene: Scene,
  optics: Optics,
  camera: SimulatedCamera,
  exposure: Exposure,
  seed: number,
  options: { truth?: boolean } = {},
): DrawnFrame {
  const { widthPx, heightPx } = camera;
  const random = makeRandomSource(seed);
  const frame: ElectronFrame = { widthPx, heightPx, electrons: new Float32Array(widthPx * heightPx) };
  const drawn = listChannels(camera.cfa, exposure.bands).map((channel) =>
    drawChannel(frame, scene, optics, camera, exposure, channel),
  );
  for (const trail of scene.trails) drawTrail(frame, trail);
  drawHotPixels(frame, camera, exposure.exposureS, makeRandomSource(cameraSeed));
  drawCosmicRays(frame, scene.cosmicRays, random);
  const samples = new Uint16Array(widthPx * heightPx);
  const expose = makeRowExposer(camera, random);
  const rows = drawn.map(() => new Float32Array(widthPx));
  for (let y = 0; y < heightPx; y++) {
    const row = frame.electrons.subarray(y * widthPx, (y + 1) * widthPx);
    drawn.forEach(({ background, sites }, k) => {
      const [even, odd] = [sites[2 * (y & 1)], sites[2 * (y & 1) + 1]];
      if (!even && !odd) return;
      background(y, rows[k]);
      for (let x = even ? 0 : 1; x < widthPx; x += even && odd ? 1 : 2) row[x] += rows[k][x];
    });
    expose(row, samples, y * widthPx);
  }
  const channels: Record<string, StarTruth> = {};
  for (const { band, field, stars } of drawn) {
    channels[band.channel] = tabulateTruth(field, stars, camera, samples, options.truth ?? true);
  }
  const truth = channels["G"] ?? channels[drawn[0].band.channel];
  return { samples, widthPx, heightPx, truth, channels };
}

interface DrawnChannel {
  band: Band;
  sites: Sites;
  field: PsfField;
  stars: PlacedStars;
  background: BackgroundRow;
}

function listChannels(cfa: ColourFilterArray, bands: readonly Band[]): { band: Band; sites: Sites }[] {
  if (cfa === "none") return [{ band: bands[0], sites: [true, true, true, true] }];
  return ["G", "R", "B"].map((channel) => {
    const band = bands.find((candidate) => candidate.channel === channel);
    if (band === undefined) throw new RangeError(`the exposure has no band named ${channel}`);
    const sites: Sites = [cfa[0] === channel, cfa[1] === channel, cfa[2] === channel, cfa[3] === channel];
    return { band, sites };
  });
}

/** Stars are drawn out to where a pixel gets this share of the noise's sigma. */
const faintestShareOfNoise = 0.03;

function drawChannel(
  frame: ElectronFrame,
  scene: Scene,
  optics: Optics,
  camera: SimulatedCamera,
  exposure: Exposure,
  { band, sites }: { band: Band; sites: Sites },
): DrawnChannel {
  const background = prepareBackground(scene, optics, camera, exposure, band);
  const middle = new Float32Array(camera.widthPx);
  background(camera.heightPx >> 1, middle);
  const sky = middle[camera.widthPx >> 1];
  const noise = Math.sqrt(sky + camera.readNoiseElectrons ** 2);
  const sampling = choosePsfSampling(
    optics,
    exposure,
    camera.pixelPitchUm,
    findLargestDefocus(optics, camera, band),
  );
  const maker = preparePsfMaker(optics, exposure, band, sampling);
  const field = computePsfField(maker, optics.field, camera, band.focusShiftUm);
  const stars = projectStars(scene, optics, camera, exposure, band);
  drawStars(frame, field, stars, sites, Math.max(faintestShareOfNoise * noise, 1e-3));
  return { band, sites, field, stars, background };
}

function findLargestDefocus(optics: Optics, camera: SimulatedCamera, band: Band): number {
  const [halfX, halfY] = [
    (camera.widthPx * camera.pixelPitchUm) / 2000,
    (camera.heightPx * camera.pixelPitchUm) / 2000,
  ];
  const field = { ...optics.field, defocusUm: optics.field.defocusUm + band.focusShiftUm };
  let largest = 0;
  for (const x of [-halfX, 0, halfX]) {
    for (const y of [-halfY, 0, halfY]) {
      const point = evaluateField(field, x, y);
      largest = Math.max(largest, Math.abs(point.tangentialUm), Math.abs(point.sagittalUm));
    }
  }
  return largest;
}

function tabulateTruth(
  field: PsfField,
  stars: PlacedStars,
  camera: SimulatedCamera,
  samples: Uint16Array,
  wanted: boolean,
): StarTruth {
  const { widthPx, heightPx, saturationAdu } = camera;
  const onSensor: number[] = [];
  for (let k = 0; k < stars.xPx.length; k++) {
    const [x, y] = [stars.xPx[k], stars.yPx[k]];
    if (x >= -0.5 && y >= -0.5 && x < widthPx - 0.5 && y < heightPx - 0.5) onSensor.push(k);
  }
  const column = (): Float64Array => new Float64Array(onSensor.length).fill(Number.NaN);
  const truth: StarTruth = {
    xPx: column(),
    yPx: column(),
    fluxElectrons: column(),
    fwhmMajorPx: column(),
    fwhmMinorPx: column(),
    angleDeg: column(),
    saturated: new Uint8Array(onSensor.length),
  };
  const shapeAt = wanted ? mapTruth(field, widthPx, heightPx) : null;
  onSensor.forEach((k, row) => {
    const [x, y] = [stars.xPx[k], stars.yPx[k]];
    truth.xPx[row] = x;
    truth.yPx[row] = y;
    truth.fluxElectrons[row] = stars.fluxElectrons[k];
    if (shapeAt !== null) {
      const shape = shapeAt(x, y);
      truth.xPx[row] += shape.dxPx;
      truth.yPx[row] += shape.dyPx;
      truth.fwhmMajorPx[row] = shape.fwhmMajorPx;
      truth.fwhmMinorPx[row] = shape.fwhmMinorPx;
      truth.angleDeg[row] = shape.angleDeg;
    }
    truth.saturated[row] = reachesSaturation(samples, widthPx, heightPx, x, y, saturationAdu) ? 1 : 0;
  });
  return truth;
}

function reachesSaturation(
  samples: Uint16Array,
  widthPx: number,
  heightPx: number,
  xPx: number,
  yPx: number,
  saturationAdu: number,
): boolean {
  for (let y = Math.max(0, Math.round(yPx) - 1); y <= Math.min(heightPx - 1, Math.round(yPx) + 1); y++) {
    for (let x = Math.max(0, Math.round(xPx) - 1); x <= Math.min(widthPx - 1, Math.round(xPx) + 1); x++) {
      if (samples[y * widthPx + x] >= saturationAdu) return true;
    }
  }
  return false;
}
