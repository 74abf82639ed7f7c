import { describeIllumination, type Illumination } from "../light/illumination.ts";
import { explainFallOff, type LightCause } from "../light/light-cause.ts";
import { listApertures } from "../light/list-apertures.ts";
import { makeRingResults, type RingResults } from "../light/ring-results.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import type { TestEntry, TrainEntry } from "../records/types.ts";
import { applyTest } from "../train/stack.ts";

export interface LightStage {
  /** The fields of the test's results that are about light. */
  results: {
    illumination: Record<string, Illumination> | null;
    rings: RingResults | null;
    lightCause: LightCause | null;
  };
  warnings: string[];
}

/** The channel that stands for the light: the only one, green, or the first. */
export function chooseLightChannel(channels: readonly string[]): string {
  return ["L", "G"].find((name) => channels.includes(name)) ?? channels[0];
}

/** Light of one test: what its flats show, what the rings of its stack leave, and how the two go together. */
export function stageLight(
  train: TrainEntry,
  test: TestEntry,
  measurement: TestMeasurement | null,
): LightStage {
  const { camera } = train.record;
  const sensor = {
    widthMm: (camera.widthPx * camera.pixelPitchUm) / 1000,
    heightMm: (camera.heightPx * camera.pixelPitchUm) / 1000,
  };
  const tonight = applyTest(train.record, test.record);
  const rings = makeRingResults(tonight, sensor);
  const flats = measurement?.flats;
  if (flats === undefined) {
    const waits = test.record.flats.length > 0 ? ["The flats of this test are not measured yet."] : [];
    return { results: { illumination: null, rings, lightCause: null }, warnings: waits };
  }
  const illumination = Object.fromEntries(
    flats.channels.map((measured) => [measured.channel, describeIllumination(measured, camera, sensor)]),
  );
  const main = chooseLightChannel(Object.keys(illumination));
  const stars = flats.channels.reduce((sum, { masked }) => sum + masked.starCells, 0);
  const lights = measurement?.frames[0];
  const binned = lights !== undefined && (lights.header.binning ?? 1) !== flats.binning;
  const lightCause = explainFallOff(main, illumination[main], rings, listApertures(tonight), sensor);
  return {
    results: { illumination, rings, lightCause },
    warnings: [
      ...flats.warnings,
      ...(stars > starsWorthSaying
        ? [
            `Stars or other passing light in the flats, usual where they are taken of the sky, were left out: ${stars} small fields of single frames.`,
          ]
        : []),
      ...(binned
        ? [
            `The flats are binned ${flats.binning} x ${flats.binning}, the star frames are not alike: the fall-off holds, but these flats cannot correct those frames.`,
          ]
        : []),
    ],
  };
}

/** Fewer fields than this are cosmic rays and chance (chosen). */
const starsWorthSaying = 30;
