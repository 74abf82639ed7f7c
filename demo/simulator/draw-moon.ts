import FFT from "fft.js";
import type { Band, Exposure, Optics, SimulatedCamera } from "./conditions.ts";
import { evaluateField } from "./field-point.ts";
import { makeRowExposer } from "./noise.ts";
import { choosePsfSampling, type PointSpread, preparePsfMaker } from "./psf.ts";
import { makeRandomSource } from "./random.ts";

/** The Moon before the lens, and the part of the sensor that is read out. */
export interface MoonExposure {
  radiusArcsec: number;
  /** Sun, Moon, observer: 0 is full. */
  phaseAngleDeg: number;
  /** Direction of the Sun's side on the displayed frame. */
  sunAngleDeg: number;
  /** The disc's middle, mm from the sensor's centre, x right, y up. */
  centreMm: { x: number; y: number };
  /** Brightest light of the disc by channel, share of saturation. */
  levels: Readonly<Record<string, number>>;
  /** Lower left pixel of the part read out, px from the sensor's lower left, and its size. */
  part: { xPx: number; yPx: number; widthPx: number; heightPx: number };
  /** Heights of the limb's mountains, rms, arcsec. */
  terrainArcsec: number;
  seed: number;
}

/** Fine samples a pixel and side of the computed square: room for a part of 1,000 px. */
const fine = 2;
const side = 2048;

interface Surface {
  limb: (angleRad: number) => number;
  albedo: (x: number, y: number) => number;
}

/** Mountains as waves round the limb, and a few dark plains (own choice of numbers). */
function makeSurface(moon: MoonExposure): Surface {
  const random = makeRandomSource(moon.seed);
  const waves = Array.from({ length: 40 }, (_, k) => ({
    count: 5 + 4 * k,
    size: random.drawNormal() / Math.sqrt(40),
    phase: 2 * Math.PI * random.drawUniform(),
  }));
  const plains = Array.from({ length: 9 }, () => ({
    x: 1.2 * (random.drawUniform() - 0.5),
    y: 1.2 * (random.drawUniform() - 0.5),
    size: 0.08 + 0.16 * random.drawUniform(),
    depth: 0.2 + 0.25 * random.drawUniform(),
  }));
  const height = (moon.terrainArcsec / moon.radiusArcsec) * Math.SQRT2;
  // Tabulated: a limb's height is asked for millions of times.
  const steps = 16_384;
  const limb = Float64Array.from({ length: steps }, (_, k) => {
    const angle = (2 * Math.PI * k) / steps;
    const sum = waves.reduce(
      (total, { count, size, phase }) => total + size * Math.cos(count * angle + phase),
      0,
    );
    return 1 + height * sum;
  });
  return {
    limb: (angle) => limb[Math.round(((angle / (2 * Math.PI) + 1) % 1) * steps) % steps],
    albedo: (x, y) =>
      plains.reduce(
        (light, plain) =>
          light *
          (1 - plain.depth * Math.exp(-((x - plain.x) ** 2 + (y - plain.y) ** 2) / (2 * plain.size ** 2))),
        1,
      ),
  };
}

/**
 * The sharp disc on fine samples, row 0 at the top, every second of them in the middle of a pixel: light by Lommel and Seeliger (from memory), cos i / (cos i + cos e), each
 * sample the mean of 3 x 3 points.
 */
function drawDisc(moon: MoonExposure, surface: Surface, optics: Optics, camera: SimulatedCamera, band: Band) {
  const mmPerFine = camera.pixelPitchUm / 1000 / fine;
  const stretch = 1 + band.lateralPpm * 1e-6;
  const radius = ((moon.radiusArcsec / 206264.806) * optics.focalLengthMm * stretch) / mmPerFine;
  const { part } = moon;
  const leftMm = ((part.xPx - camera.widthPx / 2) * camera.pixelPitchUm) / 1000;
  const topMm = ((part.yPx + part.heightPx - camera.heightPx / 2) * camera.pixelPitchUm) / 1000;
  const x0 = (moon.centreMm.x * stretch - leftMm) / mmPerFine - 1;
  const y0 = (topMm - moon.centreMm.y * stretch) / mmPerFine - 1;
  const sun = (moon.sunAngleDeg * Math.PI) / 180;
  const phase = (moon.phaseAngleDeg * Math.PI) / 180;
  const toSun = [Math.sin(phase) * Math.cos(sun), Math.sin(phase) * Math.sin(sun), Math.cos(phase)];
  const disc = new Float64Array(2 * side * side);
  for (let row = 0; row < part.heightPx * fine; row++) {
    for (let column = 0; column < part.widthPx * fine; column++) {
      const from = Math.hypot(column - x0, row - y0) / radius;
      if (from > 1.01 + 2 / radius) continue;
      // Only the limb needs points within the sample.
      const points = from > 0.98 ? 9 : 1;
      let light = 0;
      for (let k = 0; k < points; k++) {
        const [across, down] = points === 1 ? [0, 0] : [((k % 3) - 1) / 3, (Math.floor(k / 3) - 1) / 3];
        const x = (column + across - x0) / radius;
        const y = -(row + down - y0) / radius;
        const r = points === 1 ? from : Math.hypot(x, y) / surface.limb(Math.atan2(y, x));
        if (r >= 1) continue;
        const emission = Math.sqrt(1 - r * r);
        const incidence = x * toSun[0] + y * toSun[1] + emission * toSun[2];
        if (incidence > 0) light += (surface.albedo(x, y) * incidence) / (incidence + emission);
      }
      disc[2 * (row * side + column)] = light / points;
    }
  }
  return disc;
}

/** In place, both ways of a square of complex numbers; the inverse divides by the number of samples. */
function transformSquare(square: Float64Array, inverse: boolean): void {
  const fft = new FFT(side);
  const [from, to] = [new Float64Array(2 * side), new Float64Array(2 * side)];
  const run = () => (inverse ? fft.inverseTransform(to, from) : fft.transform(to, from));
  for (let row = 0; row < side; row++) {
    from.set(square.subarray(2 * row * side, 2 * (row + 1) * side));
    run();
    square.set(to, 2 * row * side);
  }
  // Sixteen columns at a time: one alone would fetch a line of the cache for every number.
  const block = new Float64Array(2 * side * 16);
  for (let first = 0; first < side; first += 16) {
    for (let row = 0; row < side; row++) {
      for (let k = 0; k < 16; k++) {
        block[2 * (k * side + row)] = square[2 * (row * side + first + k)];
        block[2 * (k * side + row) + 1] = square[2 * (row * side + first + k) + 1];
      }
    }
    for (let k = 0; k < 16; k++) {
      from.set(block.subarray(2 * k * side, 2 * (k + 1) * side));
      run();
      block.set(to, 2 * k * side);
    }
    for (let row = 0; row < side; row++) {
      for (let k = 0; k < 16; k++) {
        square[2 * (row * side + first + k)] = block[2 * (k * side + row)];
        square[2 * (row * side + first + k) + 1] = block[2 * (k * side + row) + 1];
      }
    }
  }
}

/** The pixel-integrated star image on fine samples about sample (0, 0), its sum 1. */
function placeKernel(image: PointSpread): Float64Array {
  const kernel = new Float64Array(2 * side * side);
  const step = image.oversampling / fine;
  const reach = Math.min(side / 4, Math.floor((image.side / 2 - 1) / step));
  let sum = 0;
  for (let j = -reach; j <= reach; j++) {
    for (let i = -reach; i <= reach; i++) {
      const value = image.integrated[(image.side / 2 + j * step) * image.side + image.side / 2 + i * step];
      kernel[2 * (((j + side) % side) * side + ((i + side) % side))] = value;
      sum += value;
    }
  }
  for (let k = 0; k < kernel.length; k += 2) kernel[k] /= sum;
  return kernel;
}

function blur(disc: Float64Array, image: PointSpread): void {
  const kernel = placeKernel(image);
  transformSquare(disc, false);
  transformSquare(kernel, false);
  for (let k = 0; k < disc.length; k += 2) {
    const [a, b, c, d] = [disc[k], disc[k + 1], kernel[k], kernel[k + 1]];
    disc[k] = a * c - b * d;
    disc[k + 1] = a * d + b * c;
  }
  transformSquare(disc, true);
}

/**
 * Draws the Moon through a colour-filter camera of which a part is read out: sharp disc by colour with the colour's own
 * magnification, blurred by the star image of the disc's middle (optics, seeing, tracking, air, pixel), then photon and read
 * noise. Pure: the same arguments give the same samples.
 */
export function drawMoon(
  moon: MoonExposure,
  optics: Optics,
  camera: SimulatedCamera,
  exposure: Exposure,
  seed: number,
): { samples: Uint16Array; widthPx: number; heightPx: number } {
  const { widthPx, heightPx } = moon.part;
  const surface = makeSurface(moon);
  const electrons = new Float32Array(widthPx * heightPx);
  const full = (camera.saturationAdu - camera.biasAdu) * camera.gainElectronsPerAdu;
  for (const band of exposure.bands) {
    const disc = drawDisc(moon, surface, optics, camera, band);
    let top = 0;
    for (let k = 0; k < disc.length; k += 2) top = Math.max(top, disc[k]);
    const sampling = choosePsfSampling(optics, exposure, camera.pixelPitchUm, 60);
    const field = { ...optics.field, defocusUm: optics.field.defocusUm + band.focusShiftUm };
    const point = evaluateField(field, moon.centreMm.x, moon.centreMm.y);
    blur(disc, preparePsfMaker(optics, exposure, band, sampling).makePsf(point));
    const scale = ((moon.levels[band.channel] ?? 0) * full) / top;
    for (let y = 0; y < heightPx; y++) {
      for (let x = 0; x < widthPx; x++) {
        if (camera.cfa !== "none" && camera.cfa[(x & 1) + 2 * (y & 1)] !== band.channel) continue;
        const light = disc[2 * (fine * y * side + fine * x)];
        electrons[y * widthPx + x] = Math.max(0, light * scale);
      }
    }
  }
  const samples = new Uint16Array(widthPx * heightPx);
  const expose = makeRowExposer(camera, makeRandomSource(seed));
  for (let y = 0; y < heightPx; y++) {
    expose(electrons.subarray(y * widthPx, (y + 1) * widthPx), samples, y * widthPx);
  }
  return { samples, widthPx, heightPx };
}
