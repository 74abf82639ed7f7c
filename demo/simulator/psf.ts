import type { Band, Exposure, Optics } from "./conditions.ts";
import { measureDispersion } from "./dispersion.ts";
import type { FieldPoint } from "./field-point.ts";
import { expandSquare } from "./fourier-2d.ts";
import { scaleSeeing, transferTracking } from "./night-transfer.ts";
import { computeOpticalTransfer, countFrequencies, type OpticalTransfer } from "./optical-transfer.ts";
import { sinc } from "./pupil.ts";
import { makeSeeingTransfer } from "./seeing-transfer.ts";

/** How finely and how widely star images are computed. */
export interface PsfSampling {
  pixelPitchUm: number;
  /** Samples per pixel along each axis. */
  oversampling: number;
  /** Side of the computed square, samples; a power of two. */
  side: number;
  /** Side of the middle that is kept, samples; even. */
  keptSide: number;
}

/**
 * The image of a point of light, rows downwards, its centre at sample (side / 2, side / 2). Both parts are in shares of
 * the light per square pixel: `onSensor` as it falls, `integrated` averaged over one pixel about each sample, so that
 * a pixel centred there collects exactly that share.
 */
export interface PointSpread {
  pixelPitchUm: number;
  /** Samples per pixel along each axis. */
  oversampling: number;
  /** Side of the square, samples. */
  side: number;
  onSensor: Float32Array;
  integrated: Float32Array;
}

/** Half-maximum width of the image of a perfect circular aperture in lambda N: Born & Wolf, section 8.5. */
const airyWidth = 1.028994;

/**
 * Sampling for a frame: at least 12 samples across the sharpest star (interpolation is then good to 1e-4 of the peak,
 * and nothing is aliased), and a square of 16 times the seeing's and the aperture's width, twice the blur disc's and
 * twice the mount's motion (light from the periodic neighbours is then below 1e-4 of the peak).
 */
export function choosePsfSampling(
  optics: Optics,
  exposure: Exposure,
  pixelPitchUm: number,
  largestDefocusUm: number,
): PsfSampling {
  const umPerArcsec = optics.focalLengthMm / 206.264806;
  const ratio = optics.focalLengthMm / optics.apertureMm;
  const shortest = Math.min(...exposure.bands.flatMap((band) => band.wavelengthsNm)) / 1000;
  const seeing = exposure.seeingArcsec * umPerArcsec;
  const sharpest = Math.max(Math.hypot(0.85 * seeing, airyWidth * shortest * ratio * 0.9), 1e-3);
  const { jitter, drift, jump } = exposure.tracking;
  const motion =
    umPerArcsec *
    ((jitter?.majorRmsArcsec ?? 0) * 2.355 + (drift?.lengthArcsec ?? 0) + (jump?.lengthArcsec ?? 0));
  const spread =
    16 * Math.hypot(seeing, airyWidth * shortest * ratio) + (2 * largestDefocusUm) / ratio + 2 * motion;
  let oversampling = 2;
  while (pixelPitchUm / oversampling > sharpest / 12) oversampling *= 2;
  let side = 128;
  const wanted = (Math.max(spread, 12 * pixelPitchUm, 24 * shortest * ratio) * oversampling) / pixelPitchUm;
  while (side < wanted && side < 2048) side *= 2;
  return { pixelPitchUm, oversampling, side, keptSide: Math.floor(0.4 * side) * 2 };
}

export interface PsfMaker {
  sampling: PsfSampling;
  /** The star image at a field point. */
  makePsf: (point: FieldPoint) => PointSpread;
}

/**
 * Prepares what all field points share: the night's transfer at each wavelength. A point's transfer is the share-weighted
 * sum over wavelengths of optics times seeing times tracking; the image is its Fourier transform. The two images of
 * `PointSpread` are computed at once, one as the real, the other as the imaginary part.
 */
export function preparePsfMaker(
  optics: Optics,
  exposure: Exposure,
  band: Band,
  sampling: PsfSampling,
): PsfMaker {
  const { side, keptSide, oversampling, pixelPitchUm } = sampling;
  const boxUm = (side * pixelPitchUm) / oversampling;
  const focalRatio = optics.focalLengthMm / optics.apertureMm;
  const umPerArcsec = optics.focalLengthMm / 206.264806;
  const obstruction = optics.obstructionMm / optics.apertureMm;
  const shape = { focalRatio, obstruction };
  const nights = band.wavelengthsNm.map((wavelengthNm) => {
    const wavelengthUm = wavelengthNm / 1000;
    const reach = countFrequencies(shape, wavelengthUm, boxUm);
    const width = 2 * reach + 1;
    const values = new Float64Array(2 * width * width);
    const seeing = makeSeeingTransfer(
      scaleSeeing(exposure.seeingArcsec, wavelengthNm),
      exposure.outerScaleM,
      wavelengthUm,
    );
    const shift = measureDispersion(exposure.dispersion, wavelengthNm);
    for (let ky = -reach; ky <= reach; ky++) {
      for (let kx = -reach; kx <= reach; kx++) {
        const [fx, fy] = [kx / boxUm, ky / boxUm];
        const blur = seeing(Math.hypot(fx, fy) * umPerArcsec);
        const [real, imaginary] = transferTracking(exposure.tracking, umPerArcsec, fx, fy);
        const turn = -2 * Math.PI * (fx * shift.x - fy * shift.y) * umPerArcsec;
        const at = 2 * ((ky + reach) * width + kx + reach);
        values[at] = blur * (real * Math.cos(turn) - imaginary * Math.sin(turn));
        values[at + 1] = blur * (real * Math.sin(turn) + imaginary * Math.cos(turn));
      }
    }
    return { wavelengthUm, reach, values };
  });
  const half = Math.min(Math.max(...nights.map(({ reach }) => reach)), side / 2 - 1);
  const width = 2 * half + 1;
  const pixel = new Float64Array(width);
  for (let k = 0; k < width; k++) pixel[k] = sinc(((k - half) * oversampling) / side);

  const makePsf = (point: FieldPoint): PointSpread => {
    const spectrum = new Float64Array(2 * width * width);
    nights.forEach((night, k) => {
      const transfer = computeOpticalTransfer(shape, point, night.wavelengthUm, boxUm);
      addProduct(spectrum, half, transfer, night.values, band.shares[k]);
    });
    const scale = (oversampling / side) ** 2;
    for (let row = 0, at = 0; row < width; row++) {
      for (let column = 0; column < width; column++, at += 2) {
        const over = pixel[column] * pixel[row];
        const [a, b] = [spectrum[at] * scale, spectrum[at + 1] * scale];
        // integrated + i onSensor
        spectrum[at] = a * over - b;
        spectrum[at + 1] = b * over + a;
      }
    }
    const both = expandSquare(spectrum, half, side, -keptSide / 2, keptSide);
    const onSensor = new Float32Array(keptSide * keptSide);
    const integrated = new Float32Array(keptSide * keptSide);
    for (let i = 0; i < onSensor.length; i++) {
      integrated[i] = both[2 * i];
      onSensor[i] = both[2 * i + 1];
    }
    return { pixelPitchUm, oversampling, side: keptSide, onSensor, integrated };
  };
  return { sampling, makePsf };
}

/** Adds share times optics times night, frequency by frequency, to a spectrum that may reach less far. */
function addProduct(
  spectrum: Float64Array,
  half: number,
  optics: OpticalTransfer,
  night: Float64Array,
  share: number,
): void {
  const reach = Math.min(optics.reach, half);
  for (let ky = -reach; ky <= reach; ky++) {
    let from = 2 * ((ky + optics.reach) * (2 * optics.reach + 1) + optics.reach - reach);
    let to = 2 * ((ky + half) * (2 * half + 1) + half - reach);
    for (let kx = -reach; kx <= reach; kx++, from += 2, to += 2) {
      const [a, b] = [optics.values[from], optics.values[from + 1]];
      const [c, d] = [night[from], night[from + 1]];
      spectrum[to] += share * (a * c - b * d);
      spectrum[to + 1] += share * (a * d + b * c);
    }
  }
}
