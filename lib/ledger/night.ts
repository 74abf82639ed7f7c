import type { Quantity } from "../maths/quantity.ts";
import type { Estimate } from "./fit-nights.ts";

/** One test of a train, as the ledger compares it with the others. */
export interface LedgerNight {
  test: string;
  date: string;
  spacingMm: number | null;
  /** What the frames or the sweep say of the focal surface: true signs where `signKnown`, else up to one common sign. */
  surface: {
    curvature: Estimate;
    astigmatism: Estimate;
    tilt: { x: Estimate; y: Estimate };
    signKnown: boolean;
    from: "sweep" | "field";
  } | null;
  /** Median elongation along the radius in the corners: its sign is never in doubt, its size is diluted by the seeing. */
  radial: Estimate | null;
  tiltAcross: Quantity;
  seeing: Quantity;
  /** Width of a star in focus, um, and of the corners over the centre as measured. */
  focusedWidthUm: number | null;
  cornerOverCentre: Quantity | null;
  spacersMm: number[] | null;
  cameraAngleDeg: number | null;
  /** Digests of the frames: the same frames in two tests count once. */
  frames: string[];
}

/** One-sigma error of a quantity from its 95 % interval; null where nothing is known or it is exact. */
export function toEstimate(quantity: Quantity | null | undefined): Estimate | null {
  if (quantity === null || quantity === undefined || quantity.value === null) return null;
  const sigma = (quantity.hi - quantity.lo) / (2 * 1.959963984540054);
  return sigma > 0 ? { value: quantity.value, sigma } : null;
}

export function negate(estimate: Estimate): Estimate {
  return { value: -estimate.value, sigma: estimate.sigma };
}
