import { formatDate } from "../maths/format-date.ts";
import type { KnownQuantity, Quantity } from "../maths/quantity.ts";
import type { Corner, TestResults, TrainResults, Zone } from "../report/results.ts";
import { formatSigned } from "./scale.ts";
import { fitText } from "./text-width.ts";

export const corners: readonly Corner[] = ["upperLeft", "upperRight", "lowerLeft", "lowerRight"];

/** Zones that do not hold one another, from the centre outwards. */
export const separateZones: readonly Zone[] = ["centre", "middle", "outer", ...corners];

export const zoneNames: Record<Zone, string> = {
  centre: "centre",
  middle: "middle",
  outer: "outer",
  corner: "all corners",
  upperLeft: "upper left",
  upperRight: "upper right",
  lowerLeft: "lower left",
  lowerRight: "lower right",
};

/** Units a width can be read in, in the order in which they are offered. */
export const widthUnits = ["px", "um", "arcsec"] as const;
export type WidthUnit = (typeof widthUnits)[number];
export const defaultUnit: WidthUnit = "um";

export const unitNames: Record<WidthUnit, string> = { px: "px", um: "µm", arcsec: "arcsec" };

/** What one micrometre on the sensor is in each unit. */
export function listUnitFactors(scale: TestResults["scale"]): Record<WidthUnit, number> {
  return { px: 1 / scale.umPerPx, um: 1, arcsec: scale.arcsecPerPx / scale.umPerPx };
}

export function isKnown(quantity: Quantity | null | undefined): quantity is KnownQuantity {
  return (
    quantity !== null && quantity !== undefined && quantity.value !== null && Number.isFinite(quantity.value)
  );
}

/** Decimals that show a number to two figures of its uncertainty, at most four. */
export function chooseDecimals(half: number): number {
  if (!(half > 0)) return 2;
  return Math.max(0, Math.min(4, 1 - Math.floor(Math.log10(half))));
}

/** Value and interval as read in a sentence: "9.79 (9.61 to 9.97) µm". */
export function formatQuantity(quantity: Quantity, unit: string): string {
  if (!isKnown(quantity)) return "not known";
  const half = (quantity.hi - quantity.lo) / 2;
  const decimals = chooseDecimals(half);
  const value = formatSigned(quantity.value, decimals);
  if (half === 0) return `${value} ${unit}`;
  return `${value} (${formatSigned(quantity.lo, decimals)} to ${formatSigned(quantity.hi, decimals)}) ${unit}`;
}

/** A test as captions name it: its date, with its folder's name before it where that is another. */
export function nameTest(test: TestResults): string {
  const date = fitText(formatDate(test.date), 140);
  return test.id === test.date ? date : `${fitText(test.id, 220)} (${date})`;
}

/** Tests with stars, the oldest first; tests of one date stay in their order. */
export function listStarTests(results: TrainResults): TestResults[] {
  const withStars = results.tests.filter((test) => test.zones !== null);
  return withStars.sort((a, b) => (a.date < b.date ? -1 : a.date > b.date ? 1 : 0));
}

/** How much the stars' list stands for, as subtitles put it. */
export function describeCoverage(test: TestResults): string {
  const listed = test.starField?.xMm.length ?? 0;
  const total = test.starField?.total ?? listed;
  const frames = test.frames.length;
  const stars = total > listed ? `${listed} of ${total} stars` : `${total} stars`;
  return frames > 0 ? `${stars} of ${frames} ${frames === 1 ? "frame" : "frames"}` : stars;
}

export interface WorstCorner {
  corner: Corner;
  /** Percent by which its stars are wider than the centre's. */
  widerPercent: number;
  /** The 95 % intervals of corner and centre do not touch. */
  significant: boolean;
}

/**
 * The corner with the widest stars against the centre, by the ratio free of what the night did to the whole frame where
 * the test has it, as the findings are; null where neither is known.
 */
export function findWorstCorner(test: TestResults): WorstCorner | null {
  const ratios = corners.flatMap((corner) => {
    const ratio = test.contrasts?.overCentre[corner];
    return isKnown(ratio) ? [{ corner, ratio }] : [];
  });
  if (ratios.length > 0) {
    const { corner, ratio } = ratios.reduce((most, next) =>
      next.ratio.value > most.ratio.value ? next : most,
    );
    return { corner, widerPercent: 100 * (ratio.value - 1), significant: ratio.lo > 1 };
  }
  const centre = test.zones?.centre.fwhm.um;
  if (!isKnown(centre) || centre.value <= 0) return null;
  let worst: WorstCorner | null = null;
  for (const corner of corners) {
    const width = test.zones?.[corner].fwhm.um;
    if (!isKnown(width)) continue;
    const widerPercent = 100 * (width.value / centre.value - 1);
    if (worst === null || widerPercent > worst.widerPercent) {
      worst = { corner, widerPercent, significant: width.lo > centre.hi };
    }
  }
  return worst;
}

/** Name of the train cut to what a text alternative can bear. */
export function nameTrain(results: TrainResults): string {
  return results.name.length > 80 ? `${results.name.slice(0, 79)}…` : results.name;
}
