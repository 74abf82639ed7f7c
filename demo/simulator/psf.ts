import type { Band, Exposure, Optics } from "./conditions.ts";
import { measureDispersion } from "./dispersion.ts";
import type { FieldPoint } from "./field-point.ts";
import { planFourier } from "./fourier-2d.ts";
import { scaleSeeing, transferTracking } from "./night-transfer.ts";
import { computeOpticalTransfer } from "./optical-transfer.ts";
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
 * and nothing is aliased), and a square of 16 times the widest star (light from the periodic neighbours is then below
 * 1e-4 of the peak).
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
  const blur = largestDefocusUm / ratio;
  const widest = Math.hypot(1.2 * seeing, 1.1 * airyWidth * shortest * ratio, motion, 0.7 * blur);
  let oversampling = 2;
  while (pixelPitchUm / oversampling > sharpest / 12) oversampling *= 2;
  let side = 128;
  const wanted =
    (Math.max(16 * widest, 24 * pixelPitchUm, 24 * shortest * ratio) * oversampling) / pixelPitchUm;
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
  const nights = band.wavelengthsNm.map((wavelengthNm) => {
    const wavelengthUm = wavelengthNm / 1000;
    const reach = Math.ceil(boxUm / (wavelengthUm * focalRatio));
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
    return { wavelengthUm, reach, width, values };
  });
  const plan = planFourier(side);
  const samplesPerPixel2 = oversampling ** 2;
  const data = new Float64Array(2 * side * side);

  const makePsf = (point: FieldPoint): PointSpread => {
    const half = side / 2;
    data.fill(0);
    let widest = 0;
    nights.forEach((night, k) => {
      const transfer = computeOpticalTransfer({ focalRatio, obstruction }, point, night.wavelengthUm, boxUm);
      const reach = Math.min(night.reach, half - 1);
      widest = Math.max(widest, reach);
      for (let ky = -reach; ky <= reach; ky++) {
        for (let kx = -reach; kx <= reach; kx++) {
          const from = 2 * ((ky + night.reach) * night.width + kx + night.reach);
          const [a, b] = [transfer.values[from], transfer.values[from + 1]];
          const [c, d] = [night.values[from], night.values[from + 1]];
          const to = 2 * (((ky + side) % side) * side + ((kx + side) % side));
          // Odd frequencies change sign: that puts the centre into the middle of the square.
          const sign = ((kx + ky) & 1) === 0 ? band.shares[k] : -band.shares[k];
          data[to] += sign * (a * c - b * d);
          data[to + 1] += sign * (a * d + b * c);
        }
      }
    });
    const scale = samplesPerPixel2 / (side * side);
    const pixel = new Float64Array(2 * widest + 1);
    for (let k = -widest; k <= widest; k++) pixel[k + widest] = sinc((k * oversampling) / side);
    for (let ky = -widest; ky <= widest; ky++) {
      for (let kx = -widest; kx <= widest; kx++) {
        const at = 2 * (((ky + side) % side) * side + ((kx + side) % side));
        const over = pixel[kx + widest] * pixel[ky + widest];
        const [a, b] = [data[at] * scale, data[at + 1] * scale];
        // integrated + i onSensor
        data[at] = a * over - b;
        data[at + 1] = b * over + a;
      }
    }
    const first = half - keptSide / 2;
    plan.transform(data, true, {
      filled: { first: -widest, count: 2 * widest + 1 },
      columns: { first, count: keptSide },
    });
    const onSensor = new Float32Array(keptSide * keptSide);
    const integrated = new Float32Array(keptSide * keptSide);
    for (let row = 0, to = 0; row < keptSide; row++) {
      let from = 2 * ((row + first) * side + first);
      for (let column = 0; column < keptSide; column++, to++, from += 2) {
        integrated[to] = data[from];
        onSensor[to] = data[from + 1];
      }
    }
    return { pixelPitchUm, oversampling, side: keptSide, onSensor, integrated };
  };
  return { sampling, makePsf };
}
