import { makeExact, makeUnknown, type Quantity } from "../maths/quantity.ts";
import type { ComparisonSide } from "./comparison-side.ts";

/** Refractivity of air at sea level for visible light, n - 1 (common value; 2.76e-4 to 2.93e-4 by weather). */
const refractivity = 2.8e-4;

/**
 * Share by which the air shrinks a field on the mean of all directions: refraction k tan z towards the zenith brings
 * stars together by k sec^2 z along the vertical and by k across it (derivative of k tan z; k = n - 1).
 */
export function computeAirShrinkage(altitudeDeg: number): number {
  const secant2 = 1 / Math.sin((altitudeDeg * Math.PI) / 180) ** 2;
  return (refractivity * (1 + secant2)) / 2;
}

/** The lowest altitude at which the plane-parallel law holds well enough. */
const lowestDeg = 15;

/** Percent by which the air changes the ratio of b over a. */
export function computeAirShare(a: ComparisonSide, b: ComparisonSide): Quantity {
  const [low, high] = [a, b].map((side) => side.results?.record.altitudeDeg ?? null);
  if (low === null || high === null) {
    return makeUnknown("percent", "The altitude of the field is not on record for both sides.");
  }
  if (Math.min(low, high) < lowestDeg) {
    return makeUnknown(
      "percent",
      `Below ${lowestDeg} degrees of altitude the simple law of refraction fails.`,
    );
  }
  const change = (1 - computeAirShrinkage(high)) / (1 - computeAirShrinkage(low)) - 1;
  return makeExact(100 * change, "percent", {
    formula: "-50 * (n - 1) * (sec(z_b)^2 - sec(z_a)^2)",
    source: "derivative of the refraction (n - 1) tan z of a plane-parallel air",
    assumes: "Sea level; the altitude on record is that of the frames.",
  });
}
