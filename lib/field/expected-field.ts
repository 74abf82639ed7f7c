import { median, quantile } from "../maths/statistics.ts";
import { FAULTS, type ShapeSamples, TERM, TERMS } from "./field-model.ts";

/**
 * What is expected of a field before any star is seen: widths of each term, in um at the sensor's corner (centre: as a
 * share of the half-diagonal). Chosen: 150 um of curvature is a gross error of a set-up; most cameras sit square to
 * within some 50 um across, most optics within half a millimetre of the sensor's centre, and the law for these two has
 * long tails. All this matters only where the stars leave a term open.
 */
const expectedUm = { defocus: 120, tilt: 25, curvature: 150, astigmatism: 60 };
const expectedCentre = 0.03;

function listExpectedOptics(halfDiagonalMm: number): Float64Array {
  const expected = new Float64Array(TERMS);
  const r = halfDiagonalMm;
  expected[TERM.defocus] = expectedUm.defocus;
  expected[TERM.tiltX] = expected[TERM.tiltY] = expectedUm.tilt / r;
  expected[TERM.curvature] = expectedUm.curvature / r ** 2;
  expected[TERM.astigmatism] = expectedUm.astigmatism / r ** 2;
  expected[TERM.centreX] = expected[TERM.centreY] = expectedCentre * r;
  return expected;
}

/**
 * Faults that measured shapes have all over a frame, one sigma, from 72 drawn and measured frames of known truth (60 to
 * 2,000 stars, 1.5 to 4 arcsec, f/4 to f/8, pixels of 2.4 to 4.6 um): the star profile is learned from the frame's bright
 * stars and is wrong by what these leave open (`ofOne` is what one of them would leave), and where the optics deform stars,
 * in proportion to how much the widths change over the frame (`ofChange`, for each unit of ln). `least` is left in any case.
 * In the order of FAULTS: x and y, r2, x2 - y2, 2 x y.
 */
const widthFaults = {
  least: [0.002, 0.004, 0.003, 0.002],
  ofOne: [0.012, 0.03, 0.04, 0.015],
  ofChange: [0.015, 0.04, 0.02, 0.012],
};
const elongationFaults = {
  least: [0.001, 0.001, 0.001, 0.001],
  ofOne: [0.015, 0.05, 0.04, 0.04],
  ofChange: [0.01, 0.02, 0.02, 0.016],
};
const gainFault = 0.05;
/** They grow where stars are narrower than this, by this power of the width, for there the pixels hide the profile. */
const plainWidthPx = 2.2;
const power = 3;
const mostGrowth = 6;
/** The largest part of the elongation's gain that may be wrong. */
const mostGain = 0.2;
/** Stars that teach a profile have this error of ln(width) or less (a signal to noise of 50), and are at most so many. */
const teachers = { mostError: 0.023, most: 168 };
/** The widths' change over a frame is read between these quantiles of its samples. */
const changeBetween = [0.03, 0.97];

/**
 * One-sigma faults of the shapes of a frame whose stars are `widthPx` wide, `taught` of them bright enough to teach, and
 * whose ln(width) changes by `change` over it: the elongations' gain, and the smooth faults of ln(width), e1 and e2 in the
 * order of FAULTS.
 */
export function estimateFaults(
  widthPx: number,
  taught: number,
  change: number,
): { gain: number; smooth: number[] } {
  const growth = Math.min(mostGrowth, Math.max(1, (plainWidthPx / widthPx) ** power));
  const list = ({ least, ofOne, ofChange }: typeof widthFaults): number[] => {
    const root = Math.sqrt(Math.min(taught, teachers.most));
    const [slope, ...second] = least.map(
      (left, k) => growth * Math.hypot(left, ofOne[k] / root, ofChange[k] * change),
    );
    return [slope, slope, ...second];
  };
  const elongation = list(elongationFaults);
  return {
    gain: Math.min(mostGain, gainFault * growth),
    smooth: [...list(widthFaults), ...elongation, ...elongation],
  };
}

/**
 * One-sigma widths of what is expected of the shared terms, about zero: the optics', and the faults of the measured
 * shapes. Coma is held.
 */
export function listExpected(
  frames: readonly ShapeSamples[],
  halfDiagonalMm: number,
  umPerPx: number,
): Float64Array {
  const expected = listExpectedOptics(halfDiagonalMm);
  const lnWidths = frames.flatMap((samples) => Array.from(samples.count, (_, i) => samples.shape[3 * i]));
  const [narrow, wide] = changeBetween.map((share) => quantile(lnWidths, share));
  const taught = Math.max(1, ...frames.map(countTeachers));
  const faults = estimateFaults(Math.exp(median(lnWidths)) / umPerPx, taught, wide - narrow);
  expected[TERM.gain] = faults.gain;
  expected.set(faults.smooth, FAULTS.first);
  return expected;
}

/** Stars bright enough to teach the frame's profile, as their errors tell. */
function countTeachers(samples: ShapeSamples): number {
  let count = 0;
  for (let i = 0; i < samples.count.length; i++) {
    // A cell's noise is that of its mean: of one star, larger by the root of their number.
    if (samples.noise[2 * i] * Math.sqrt(samples.count[i]) < teachers.mostError) count += samples.count[i];
  }
  return count;
}
