import type { TestResults, TrainResults } from "../report/results.ts";
import { formatDate, formatFocalRatio, formatInterval, formatQuantity } from "./format-number.ts";

export interface KeyNumber {
  label: string;
  value: string;
  interval: string | null;
  note: string | null;
  /** The same width in each unit the reader may switch to; null where there is one unit only. */
  units: { unit: "px" | "um" | "arcsec"; value: string; interval: string | null }[] | null;
}

/** Tests newest first; tests of one date keep the order of the results, last first. */
export function sortNewestFirst(tests: readonly TestResults[]): TestResults[] {
  return tests
    .map((test, order) => ({ test, order }))
    .sort((a, b) => (a.test.date === b.test.date ? b.order - a.order : a.test.date < b.test.date ? 1 : -1))
    .map(({ test }) => test);
}

/** The newest test that measured stars. */
export function findLatestStars(
  results: TrainResults,
): (TestResults & { zones: NonNullable<TestResults["zones"]> }) | null {
  for (const test of sortNewestFirst(results.tests)) {
    if (test.zones !== null) return { ...test, zones: test.zones };
  }
  return null;
}

/** The handful of numbers a reader looks for first. */
export function listKeyNumbers(results: TrainResults): KeyNumber[] {
  const { sampling } = results;
  const numbers: KeyNumber[] = [
    {
      label: "Focal length as used",
      value: formatQuantity(sampling.focalLength),
      interval: formatInterval(sampling.focalLength),
      note: null,
      units: null,
    },
    {
      label: "Focal ratio",
      value: sampling.focalRatio.value === null ? "not known" : formatFocalRatio(sampling.focalRatio.value),
      interval: null,
      note: null,
      units: null,
    },
    {
      label: "Image scale",
      value: formatQuantity(sampling.imageScale),
      interval: formatInterval(sampling.imageScale),
      note: null,
      units: null,
    },
    {
      label: "Field",
      value: `${formatQuantity(sampling.fieldWidth)} × ${formatQuantity(sampling.fieldHeight)}`,
      interval: null,
      note: null,
      units: null,
    },
  ];
  const latest = findLatestStars(results);
  if (latest !== null) {
    const { centre, corner } = latest.zones;
    const night = formatDate(latest.date);
    for (const [label, zone] of [
      ["Star width, centre", centre],
      ["Star width, corners", corner],
    ] as const) {
      numbers.push({
        label,
        value: `${formatQuantity(zone.fwhm.um)}, ${formatQuantity(zone.fwhm.arcsec)}`,
        interval: formatInterval(zone.fwhm.um),
        units: (["px", "um", "arcsec"] as const).map((unit) => ({
          unit,
          value: formatQuantity(zone.fwhm[unit]),
          interval: formatInterval(zone.fwhm[unit]),
        })),
        note: `FWHM, median of ${zone.stars} stars, ${night}`,
      });
    }
    numbers.push({
      label: "Ellipticity, corners",
      value: formatQuantity(corner.ellipticity),
      interval: formatInterval(corner.ellipticity),
      note: "0 is round",
      units: null,
    });
  }
  if (results.backFocus !== null) {
    const { spacingError } = results.backFocus;
    numbers.push({
      label: "Spacing error by the records",
      value: formatQuantity(spacingError, { sign: true }),
      interval: formatInterval(spacingError),
      note: "positive: the sensor is too far away",
      units: null,
    });
  }
  return numbers;
}
