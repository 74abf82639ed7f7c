import { type Fault, ReportError } from "../fault.ts";
import type { Frame } from "../frames/frame.ts";
import type { ChannelMeasurement } from "./frame-measurement.ts";
import { listUsableStars } from "./star-table.ts";

/** Samples looked at, spread evenly: enough to tell a share of one percent to a tenth of it. */
const samplesLooked = 100_000;
/** A frame with more than half its samples at the top shows no star; the moon's glare or a flat does that. */
const mostSaturated = 0.5;

function makeFault(
  frame: Pick<Frame, "file">,
  code: string,
  found: string,
  allowed: string,
  fix: string,
): Fault {
  return { code, file: frame.file, found, allowed, fix };
}

const starField = "a star field: a light frame, in focus, with stars that are not saturated";

/**
 * Throws where a frame cannot be a star field, before the work of measuring it: by what its header calls it, or because
 * its samples are all one value or at the top. `saturationAdu` null: unknown, and then not looked at.
 *
 * @throws ReportError stars/not-a-light, stars/one-value, stars/all-saturated
 */
export function findFrameFault(frame: Frame, saturationAdu: number | null): void {
  const { kind } = frame.header;
  if (kind !== null && kind !== "light") {
    const where =
      kind === "flat" ? "name it under `flats`" : kind === "bias" ? "name it under `bias`" : "leave it out";
    throw new ReportError([
      makeFault(
        frame,
        "stars/not-a-light",
        `a ${kind} frame by its header`,
        starField,
        `${where} instead of \`frames\``,
      ),
    ]);
  }
  const { samples } = frame.planes[0];
  const step = Math.max(1, Math.floor(samples.length / samplesLooked));
  let [least, most, high, looked] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, 0, 0];
  for (let i = 0; i < samples.length; i += step) {
    const value = samples[i];
    if (Number.isNaN(value)) continue;
    looked++;
    least = Math.min(least, value);
    most = Math.max(most, value);
    if (saturationAdu !== null && value >= saturationAdu) high++;
  }
  if (high > mostSaturated * looked) {
    const share = Math.round((100 * high) / looked);
    throw new ReportError([
      makeFault(
        frame,
        "stars/all-saturated",
        `${share} % of the samples at or above ${saturationAdu} ADU`,
        starField,
        "expose shorter, or leave the frame out; where the level is wrong, set camera.saturationAdu",
      ),
    ]);
  }
  if (looked > 0 && least === most) {
    throw new ReportError([
      makeFault(
        frame,
        "stars/one-value",
        `every sample looked at is ${least} ADU`,
        starField,
        "leave the frame out",
      ),
    ]);
  }
}

/** Above this share of full scale an even picture without stars is taken for a flat: dark skies stay far below. */
const flatShare = 0.15;

/**
 * What to say of a measured frame in which no star can be used for shapes; null where there is one.
 */
export function findNoStarFault(
  file: string,
  channels: readonly ChannelMeasurement[],
  fullScaleAdu: number | null,
): Fault | null {
  if (channels.some(({ stars }) => listUsableStars(stars).length > 0)) return null;
  const { found, background } = channels[0];
  const bright = fullScaleAdu !== null && background.median > flatShare * fullScaleAdu;
  const looksFlat = bright ? ` and an even light of ${Math.round(background.median)} ADU, as in a flat` : "";
  return makeFault(
    { file },
    bright ? "stars/looks-like-a-flat" : "stars/no-star",
    found === 0
      ? `no star${looksFlat}`
      : `${found} objects${looksFlat}, but none whose shape can be measured (too faint, saturated, blended or no star)`,
    starField,
    bright
      ? "name it under `flats` if it is one"
      : "look at the frame; leave it out of the record, or expose longer",
  );
}
