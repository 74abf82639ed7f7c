import type { Fault } from "../fault.ts";
import type { Frame } from "../frames/frame.ts";

/** What is known of a flat's exposure in one plane. */
export interface PlaneExposure {
  channel: string;
  /** Median level above zero over the middle, ADU. */
  levelAdu: number;
  /** Share of pixels at or above saturation. */
  saturatedShare: number;
}

/** Limits of a flat's level as shares of saturation: 20 to 80 % is common practice, no source; the outer ones are chosen. */
export const levelLimits = { least: 0.05, low: 0.2, high: 0.8, most: 0.95 } as const;
/** More saturated pixels than a sensor has hot ones. */
const mostSaturated = 1e-3;

const percent = (share: number) => `${(100 * share).toFixed(share < 0.1 ? 1 : 0)} %`;

/**
 * Faults and cautions of one flat's exposure. Refused: more than 0.1 % of a plane's pixels saturated or its level above
 * 95 % of saturation (the map would be cut off at its top), or below 5 % (noise and errors of the zero level bend it).
 * Outside 20 to 80 % it is used and said. `saturationAdu` null: not known, nothing is judged.
 */
export function judgeExposure(
  file: string,
  planes: readonly PlaneExposure[],
  saturationAdu: number | null,
): { faults: Fault[]; warnings: string[] } {
  const faults: Fault[] = [];
  const warnings: string[] = [];
  if (saturationAdu === null) return { faults, warnings };
  const allowed = `a level of ${percent(levelLimits.low)} to ${percent(levelLimits.high)} of saturation (${saturationAdu} ADU) in the middle, in every colour`;
  for (const { channel, levelAdu, saturatedShare } of planes) {
    const share = levelAdu / saturationAdu;
    const plane = channel === "L" ? "" : `${channel}: `;
    if (saturatedShare > mostSaturated || share > levelLimits.most) {
      faults.push({
        code: "light/saturated-flat",
        file,
        found: `${plane}${percent(saturatedShare)} of the pixels saturated, the middle at ${percent(share)} of saturation`,
        allowed,
        fix: "expose shorter or dim the light, or leave the frame out",
      });
    } else if (share < levelLimits.least) {
      faults.push({
        code: "light/underexposed-flat",
        file,
        found: `${plane}${Math.round(levelAdu)} ADU above zero in the middle, ${percent(share)} of saturation`,
        allowed,
        fix: "expose longer, or leave the frame out",
      });
    } else if (share < levelLimits.low || share > levelLimits.high) {
      warnings.push(
        `${file}: ${plane}the middle stands at ${percent(share)} of saturation; ${percent(levelLimits.low)} to ${percent(levelLimits.high)} is usual for flats.`,
      );
    }
  }
  return { faults, warnings };
}

/** A frame that cannot be a flat, or that differs from the first flat in size, binning or colour planes. */
export function findFlatFault(frame: Frame, first: Frame): Fault | null {
  const { kind } = frame.header;
  if (kind === "bias" || kind === "dark") {
    return {
      code: "light/not-a-flat",
      file: frame.file,
      found: `a ${kind} frame by its header`,
      allowed: "an exposure of an evenly lit surface or of the twilight sky",
      fix: "name it under `bias` instead of `flats`",
    };
  }
  return findShapeFault(frame, first, "flats");
}

/** A frame under `bias` that is neither bias nor dark by its header, or differs from the flats in size, binning or planes. */
export function findZeroFault(frame: Frame, firstFlat: Frame): Fault | null {
  const { kind } = frame.header;
  if (kind === "light" || kind === "flat") {
    return {
      code: "light/not-a-bias",
      file: frame.file,
      found: `a ${kind} frame by its header`,
      allowed: "bias frames, or darks of the flats' exposure time",
      fix: `name it under \`${kind === "flat" ? "flats" : "frames"}\` instead of \`bias\``,
    };
  }
  return findShapeFault(frame, firstFlat, "bias");
}

function describeShape(frame: Frame): string {
  const binning = frame.header.binning === null ? "" : `, binning ${frame.header.binning}`;
  return `${frame.widthPx} x ${frame.heightPx} px${binning}, planes ${frame.planes.map(({ channel }) => channel).join(" ")}`;
}

function findShapeFault(frame: Frame, first: Frame, key: string): Fault | null {
  const same =
    frame.widthPx === first.widthPx &&
    frame.heightPx === first.heightPx &&
    (frame.header.binning ?? 1) === (first.header.binning ?? 1) &&
    frame.planes.map(({ channel }) => channel).join() === first.planes.map(({ channel }) => channel).join();
  if (same) return null;
  return {
    code: "light/mixed-frames",
    file: frame.file,
    found: describeShape(frame),
    allowed: `the same as the first flat, ${first.file}: ${describeShape(first)}`,
    fix: `name under \`${key}\` only frames of the same camera, read out and binned alike`,
  };
}
