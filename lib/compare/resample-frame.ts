import { EVERY_SITE, type Frame, type Plane } from "../frames/frame.ts";
import type { SamplePlane } from "../stars/samples.ts";
import { fillGreen } from "./fill-green.ts";
import { resamplePlane } from "./resample-plane.ts";
import { measureSharedNoise } from "./shared-noise.ts";

export interface ResamplingRequest {
  /** Channel to bring over: the one that stands for the test. */
  channel: string;
  /** Pixels of the frame to one of the coarser grid, 1 or more. */
  pixelRatio: number;
  gainElectronsPerAdu: number | null;
  saturationAdu: number | null;
}

/** A frame of one channel on the coarser grid, and what its values are measured with. */
export interface ResampledFrame {
  frame: Frame;
  gainElectronsPerAdu: number | null;
  saturationAdu: number | null;
}

/** So many samples at the highest value of all are a pile, not a star's peak. */
const samplesInPile = 20;

/** The value at which samples pile up; null where the highest stands alone. */
export function findPile(samples: ArrayLike<number>): number | null {
  let highest = Number.NEGATIVE_INFINITY;
  let count = 0;
  for (let i = 0; i < samples.length; i++) {
    if (samples[i] > highest) {
      highest = samples[i];
      count = 1;
    } else if (samples[i] === highest) count++;
  }
  return count >= samplesInPile ? highest : null;
}

/** @throws RangeError for a channel the frame lacks */
export function choosePlane(frame: Frame, channel: string): Plane {
  const plane = frame.planes.find((candidate) => candidate.channel === channel);
  if (plane === undefined) throw new RangeError(`the frame has no channel ${channel}`);
  return plane;
}

/** Whether the sites are the two of a chequerboard, as green has them. */
function isChequered({ sites }: Plane): boolean {
  return sites.filter(Boolean).length === 2 && sites[0] === sites[3];
}

/**
 * A frame's channel as pixels `pixelRatio` times as wide would have recorded it, over the frame's own field, unturned:
 * every pixel of the grid has a value, also where the frame has a colour filter array, whose green is first filled in
 * between its own samples. Noise is told as the light of a star has it (`noiseFactor`), the gain so that the noise of
 * light comes out right.
 *
 * @throws RangeError for a channel the frame lacks, or for red and blue: their samples, two pixels apart, do not hold
 *   the shape of a star of usual width
 */
export function resampleFrame(frame: Frame, request: ResamplingRequest): ResampledFrame {
  const { channel, pixelRatio } = request;
  const plane = choosePlane(frame, channel);
  const whole = plane.sites.every(Boolean);
  if (!whole && !isChequered(plane))
    throw new RangeError(`channel ${channel} has too few samples to resample`);
  const saturationAdu = request.saturationAdu ?? findPile(plane.samples);
  const { widthPx, heightPx } = frame;
  const own: SamplePlane = { widthPx, heightPx, samples: plane.samples, sites: plane.sites };
  const coarse = resamplePlane(whole ? own : fillGreen(own, saturationAdu), pixelRatio, saturationAdu);
  const gain = request.gainElectronsPerAdu;
  const level = saturationAdu === null ? null : saturationAdu * pixelRatio ** 2;
  // Where half the samples stand for all, their light counts twice, and its noise with it.
  const gainElectronsPerAdu = gain === null ? null : gain * (whole ? 1 : 0.5);
  const noiseFactor = measureSharedNoise(plane.sites, pixelRatio);
  return {
    frame: {
      ...frame,
      widthPx: coarse.widthPx,
      heightPx: coarse.heightPx,
      planes: [{ channel, samples: coarse.samples, sites: EVERY_SITE, noiseFactor }],
      header: { ...frame.header, saturationAdu: level, gainElectronsPerAdu },
      fullScaleAdu: level,
    },
    gainElectronsPerAdu,
    saturationAdu: level,
  };
}
