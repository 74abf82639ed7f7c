import { isKnown, stateQuantity } from "../maths/state-quantity.ts";
import type { Finding, TestResults, TrainResults } from "./results.ts";

/**
 * Pixels a half-maximum width below which detail is lost and above which nothing is gained. A Gaussian of FWHM w has
 * nearly no contrast left at frequency 1/w, which needs two pixels each way (Nyquist); 3.3 px leaves the usual margin
 * for interpolation (Howell 2006, Handbook of CCD Astronomy, ch. 5: critically sampled at 2 px, well sampled from 3).
 */
const fewestPx = 2;
const plentyPx = 4;

/** How the pixels suit the nights at hand, from the stars as measured at the centre, not from a rule of thumb. */
export function findSamplingFit(results: TrainResults, tests: readonly TestResults[]): Finding[] {
  const nights = tests.flatMap((test) => {
    const index = results.tests.indexOf(test);
    const width = test.zones?.centre.fwhm.px;
    return isKnown(width) ? [{ index, width }] : [];
  });
  if (nights.length === 0) return [];
  const best = nights.reduce((least, night) => (night.width.value < least.width.value ? night : least));
  const { width } = best;
  const of = nights.length === 1 ? "On the night at hand" : `On the best of ${nights.length} nights`;
  const told = `${of} the stars at the centre are ${stateQuantity(width, "px")} wide at half maximum`;
  const verdict =
    width.hi < fewestPx
      ? "undersampled, the pixels are too coarse for what the sky and the optics gave"
      : width.lo > plentyPx
        ? "oversampled: larger pixels, or binning, would lose nothing"
        : width.lo < fewestPx
          ? "at the edge of what the pixels resolve"
          : "well sampled";
  return [
    {
      name: "sampling",
      level: width.hi < fewestPx ? "watch" : "note",
      sentence: `${told}: ${verdict}.`,
      evidence: [`tests.${best.index}.zones.centre.fwhm.px`, "sampling.imageScale"],
      action:
        width.hi < fewestPx
          ? "Move the pointing by parts of a pixel between frames and add them up on a finer grid; a longer focal length or smaller pixels would sample finer."
          : null,
    },
  ];
}
