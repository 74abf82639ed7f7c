import type { TestRecord, TrainRecord } from "../records/types.ts";
import type { FieldOptics } from "./fit-field.ts";
import type { SensorGeometry } from "./geometry.ts";

/** Where no filter's wavelength is on record, um: the middle of a clear filter. */
const clearWavelengthUm = 0.55;

/** Guesses and draws of the field model start here; any number does, the same one every time. */
export const FIELD_SEED = 20_261_004;

/** Wavelength of the filter on record, um; the middle of a clear one where the record is silent. */
export function findWavelengthUm({ filter }: Pick<TestRecord, "filter">): number {
  return filter?.wavelengthNm === undefined ? clearWavelengthUm : filter.wavelengthNm / 1000;
}

/** What the field model must know of a test: from its records, with the focal length as used (`scale`). */
export function makeFieldOptics(
  train: Pick<TrainRecord, "telescope" | "corrector">,
  test: Pick<TestRecord, "filter">,
  scale: { arcsecPerPx: number; focalLengthMm: number },
  geometry: SensorGeometry,
): FieldOptics {
  const { apertureMm, obstructionMm } = train.telescope;
  return {
    focalRatio: scale.focalLengthMm / apertureMm,
    obstructionRatio: obstructionMm / apertureMm,
    wavelengthUm: findWavelengthUm(test),
    umPerPx: geometry.umPerPx,
    arcsecPerPx: scale.arcsecPerPx,
    geometry,
    radialMeans: train.corrector?.radialMeans ?? "unknown",
  };
}
