import { makeMeasured, makeUnknown, type Quantity } from "../maths/quantity.ts";
import type { ComparisonSide } from "./comparison-side.ts";
import { toBlurWidth } from "./remove-night.ts";

/** Where corner stars lie on the average, in half-diagonals: the middle of the corner zones. */
const cornerRho = 0.9;
const stepMm = 0.1;

/**
 * What 0.1 mm of spacing adds to the optics' own blur in the corners, um, refocused at the centre: by the ledger's straight
 * lines of curvature c and astigmatism A, the tangential and sagittal foci move by (c' + A') r2 and (c' - A') r2 a
 * millimetre, and the cone spreads by that over N. Unknown with fewer than three spacings on record.
 */
export function computeSpacingTolerance(side: ComparisonSide): Quantity {
  const lines = side.trainResults?.ledger?.lines;
  const { results, train } = side;
  if (train.record.corrector === null)
    return makeUnknown("um", "There is no corrector, so no spacing to keep.");
  const curvature = lines?.curvature ?? null;
  const astigmatism = lines?.astigmatism ?? null;
  if (curvature === null || results === null) {
    return makeUnknown("um", "Tests at two or more spacings of this train would tell it.");
  }
  const { widthMm, heightMm } = results.sensor;
  const r2 = (cornerRho * Math.hypot(widthMm, heightMm)) ** 2 / 4;
  const { apertureMm, obstructionMm } = train.record.telescope;
  const focalRatio = results.scale.focalLengthMm / apertureMm;
  const widen = (perMm: number): number => {
    const [tangential, sagittal] = [1, -1].map((sign) => perMm + sign * (astigmatism?.perMm ?? 0));
    const diameter = (stepMm * r2 * Math.sqrt((tangential ** 2 + sagittal ** 2) / 2)) / focalRatio;
    return toBlurWidth(diameter, obstructionMm / apertureMm);
  };
  const reach = curvature.reach * curvature.stretch * Math.sqrt(Math.max(0, curvature.variancePerMm));
  const ends = [curvature.perMm - reach, curvature.perMm + reach];
  const crosses = ends[0] < 0 && ends[1] > 0;
  const widths = ends.map(widen);
  return makeMeasured(
    widen(curvature.perMm),
    "um",
    crosses ? 0 : Math.min(...widths),
    Math.max(...widths),
    curvature.nights,
    {
      formula: "sqrt(8 ln 2) / 4 * 0.1 mm * r^2 * sqrt(c'^2 + A'^2) / N",
      source: "the ledger's lines of curvature and astigmatism against spacing error",
      assumes: "Refocused at the centre; the corrector answers in a straight line.",
    },
  );
}
