import type { LightRing } from "./flat-measurement.ts";

interface Estimate {
  value: number;
  error: number;
}

/** Percent of the brightest point above which the field counts as fully lit: its definition. */
const fullyLit = 99;

/**
 * The edge of the fully lit field, mm from the sensor's centre; null where all of the sensor is lit. `firstDrop` is where the
 * map first falls below 99 % on the way out. Where the circles farther out are fully lit again, that was a spot within the field,
 * as dust leaves it, and not the field's edge: the edge is then where the light falls below for good, told to half a step
 * between two circles.
 */
export function findLitEdge(firstDrop: Estimate | null, rings: readonly LightRing[]): Estimate | null {
  if (firstDrop === null) return null;
  const lastLit = rings.findLastIndex(({ least }) => least >= fullyLit);
  if (lastLit < 0 || rings[lastLit].rMm <= firstDrop.value) return firstDrop;
  if (lastLit === rings.length - 1) return null;
  const [inside, outside] = [rings[lastLit], rings[lastLit + 1]];
  const share = (inside.least - fullyLit) / (inside.least - outside.least);
  const step = outside.rMm - inside.rMm;
  return { value: inside.rMm + share * step, error: Math.hypot(firstDrop.error, step / 2) };
}
