import type { TestResults } from "../report/results.ts";
import { arcsecPerRadian } from "./angles.ts";

/** A focal length that differs by less is left as the side's own page has it: widths are known to some tenths of a percent. */
const leastDifference = 0.0005;

/**
 * A side's scale by the focal length that was measured for it, so that both sides' arcseconds go by one measure; as it was
 * where none was measured or where it says the same.
 */
export function useFocalLength(
  scale: TestResults["scale"],
  focalLengthMm: number | null,
): TestResults["scale"] {
  if (focalLengthMm === null || Math.abs(focalLengthMm / scale.focalLengthMm - 1) < leastDifference)
    return scale;
  return {
    ...scale,
    focalLengthMm,
    arcsecPerPx: (arcsecPerRadian * scale.umPerPx) / 1000 / focalLengthMm,
    from: "the measured ratio",
  };
}
