import { type Aperture, type Beam, computeCornerShare } from "./light-path.ts";

interface Sensor {
  widthMm: number;
  heightMm: number;
}

/** The apertures with one of them as wide as told. */
export function replaceDiameter(
  apertures: readonly Aperture[],
  place: number,
  clearDiameterMm: number,
): Aperture[] {
  return apertures.map((aperture, k) => (k === place ? { ...aperture, clearDiameterMm } : aperture));
}

/** Wider than any part in front of a camera, mm. */
const widestMm = 1000;

/**
 * Smallest clear diameter of one aperture, mm, at which the corners keep `share` of the light, the other apertures as
 * they are; null where they alone keep the corners below it. By bisection to 1e-6 mm: the share grows with the diameter.
 */
export function findSmallestDiameter(
  beam: Beam,
  apertures: readonly Aperture[],
  place: number,
  share: number,
  sensor: Sensor,
): number | null {
  const leaves = (diameter: number) =>
    computeCornerShare(beam, replaceDiameter(apertures, place, diameter), sensor);
  if (leaves(widestMm) < share) return null;
  let [low, high] = [0, widestMm];
  while (high - low > 1e-6) {
    const middle = (low + high) / 2;
    if (leaves(middle) < share) low = middle;
    else high = middle;
  }
  return high;
}

/**
 * Clear widths that threads and filter cells usually leave, mm: common practice, no source, from memory; makers differ by
 * a millimetre, so a caliper decides.
 */
export const usualWidths: readonly { name: string; clearDiameterMm: number }[] = [
  { name: "31 mm filter cell", clearDiameterMm: 29 },
  { name: "36 mm filter cell", clearDiameterMm: 34 },
  { name: "M42 thread", clearDiameterMm: 38 },
  { name: "M48 thread", clearDiameterMm: 44.5 },
  { name: "M54 thread", clearDiameterMm: 50.5 },
  { name: "M68 thread", clearDiameterMm: 64 },
];

/** The first usual width that is wider by more than what makers differ in; null beyond the list. */
export function findNextWider(clearDiameterMm: number): (typeof usualWidths)[number] | null {
  return usualWidths.find((width) => width.clearDiameterMm > clearDiameterMm + 1) ?? null;
}
