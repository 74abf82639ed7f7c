import { computeStudentQuantile } from "../maths/distributions.ts";
import { makeMeasured, type Quantity } from "../maths/quantity.ts";
import { mean, standardDeviation } from "../maths/statistics.ts";
import { arcsecPerRadian } from "./angles.ts";
import type { ComparisonSide } from "./comparison-side.ts";

/**
 * Focal length of a side from the plate solutions in its frames' headers, mm: mean over the frames, the interval from how
 * they differ (a header states no uncertainty; one frame alone gives none). Null where no frame has one.
 */
export function readSolvedFocalLength(side: ComparisonSide): Quantity | null {
  if (side.geometry === null) return null;
  const { umPerPx } = side.geometry;
  const lengths = (side.measurement?.frames ?? []).flatMap(({ header }) => {
    const scale = header.wcsScaleArcsecPerPx;
    return scale === null || !(scale > 0) ? [] : [(arcsecPerRadian * umPerPx) / 1000 / scale];
  });
  const n = lengths.length;
  if (n === 0) return null;
  const value = mean(lengths);
  const spread = n < 2 ? 0 : standardDeviation(lengths);
  const reach = n < 2 ? 0 : (computeStudentQuantile(0.975, n - 1) * spread) / Math.sqrt(n);
  return makeMeasured(value, "mm", value - reach, value + reach, n, {
    formula: "206264.806 arcsec * p / s",
    source: "image scale, from the frames' world coordinates (Greisen & Calabretta 2002, A&A 395:1061)",
    assumes: "The frames were solved as they are stored, and the pixel pitch on record is right.",
  });
}
