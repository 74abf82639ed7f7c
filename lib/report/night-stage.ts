import { median } from "../maths/statistics.ts";
import type { TestMeasurement } from "../measured/test-measurement.ts";
import { makeNightResults, type NightResults } from "../night/night-results.ts";
import { readGuidingLog, readWindLog } from "../night/read-log.ts";
import type { TestEntry } from "../records/types.ts";
import type { TestResults } from "./results.ts";

/** Start of the draws for the wind's interval: any number, fixed so that a report comes out the same. */
const seed = 4100;

/**
 * What the logs of a test's night say, beside its stars; null where the record names none.
 *
 * @throws ReportError with the faults of the logs
 */
export function stageNight(
  test: TestEntry,
  measurement: TestMeasurement | null,
  { zones, field }: Pick<TestResults, "zones" | "field">,
): NightResults | null {
  const { guiding, wind } = test.record;
  const guidingText = test.guidingText ?? null;
  const windText = test.windText ?? null;
  const exposures = (measurement?.frames ?? []).flatMap(({ header: { exposureS } }) =>
    exposureS !== null && exposureS > 0 ? [exposureS] : [],
  );
  return makeNightResults({
    guiding: guiding === null || guidingText === null ? null : readGuidingLog(guidingText, guiding.file),
    wind: wind === null || windText === null ? null : readWindLog(windText, wind.file),
    exposureS: exposures.length === 0 ? null : median(exposures),
    centreFwhm: zones?.centre.fwhm.arcsec ?? null,
    tracking: field?.tracking.ellipticity ?? null,
    seed,
  });
}
