import type { TrainRecord } from "../records/types.ts";
import { listDiffractionExtras } from "./diffraction-extras.ts";
import type { Extra } from "./extra.ts";
import { listFocusExtras } from "./focus-extras.ts";
import { listLightExtras } from "./light-extras.ts";
import { listPixelExtras, listSensorExtras } from "./pixel-extras.ts";
import { defaultWavelengthNm, type MeasuredNights } from "./sampling.ts";

/** What else a tester states about sampling, diffraction, focus and light; beside `computeSampling`, from the same arguments. */
export function listSamplingExtras(
  train: TrainRecord,
  measured: MeasuredNights = {},
  wavelengthNm = defaultWavelengthNm,
): Extra[] {
  return [
    ...listSensorExtras(train),
    ...listPixelExtras(train, measured, wavelengthNm),
    ...listDiffractionExtras(train, measured, wavelengthNm),
    ...listFocusExtras(train, measured, wavelengthNm),
    ...listLightExtras(train, measured, wavelengthNm),
  ];
}
