import { quantileOfSorted } from "../maths/statistics.ts";
import { includesZero } from "./field-intervals.ts";
import { TERM } from "./field-model.ts";
import type { FieldFit } from "./fit-field.ts";
import type { OrientedFields } from "./orient-fields.ts";

function spreadOf(draws: readonly Float64Array[], read: (field: Float64Array) => number): number {
  const sorted = Float64Array.from(draws, read).sort();
  return quantileOfSorted(sorted, 0.975) - quantileOfSorted(sorted, 0.025);
}

/** Correlation of two numbers over the draws; 0 where one does not vary. */
function correlate(
  draws: readonly Float64Array[],
  first: (field: Float64Array) => number,
  second: (field: Float64Array) => number,
): number {
  const mean = (read: (field: Float64Array) => number): number =>
    draws.reduce((sum, draw) => sum + read(draw), 0) / draws.length;
  const [a, b] = [mean(first), mean(second)];
  let [aa, bb, ab] = [0, 0, 0];
  for (const draw of draws) {
    const [u, v] = [first(draw) - a, second(draw) - b];
    aa += u * u;
    bb += v * v;
    ab += u * v;
  }
  return aa > 0 && bb > 0 ? ab / Math.sqrt(aa * bb) : 0;
}

/** The part of the tilt that a centre off the sensor's would stand for is called open from this correlation on. */
const tradedFrom = 0.8;
/** The heights at the corner are called open when their interval is wider than this many depths of focus. */
const openDepths = 4;

/** Plain sentences on what the stars leave open. */
export function listOpenQuestions(fit: FieldFit, oriented: OrientedFields): string[] {
  const { best, draws } = oriented;
  const r = fit.problem.halfDiagonalMm;
  const said: string[] = [];
  const [curvature, astigmatism] = [best[TERM.curvature] * r * r, best[TERM.astigmatism] * r * r];
  const depth = 2 * fit.optics.wavelengthUm * fit.optics.focalRatio ** 2;
  if (fit.modes.length > 1) {
    const other = fit.modes[1].point.parameters;
    const share = Math.round(fit.modes[1].share * 100);
    if (share >= 3) {
      const exchanged =
        Math.abs(Math.abs(other[TERM.curvature]) - Math.abs(best[TERM.curvature])) * r * r > depth;
      said.push(
        exchanged
          ? `Another field agrees with the stars nearly as well (${share} % of the belief): curvature and astigmatism could be exchanged.`
          : `Another field agrees with the stars nearly as well (${share} % of the belief).`,
      );
    }
  }
  const tilt: (field: Float64Array) => [number, number] = (field) => [field[TERM.tiltX], field[TERM.tiltY]];
  const traded = Math.max(
    Math.abs(
      correlate(
        draws,
        (field) => field[TERM.tiltX],
        (field) => field[TERM.centreX],
      ),
    ),
    Math.abs(
      correlate(
        draws,
        (field) => field[TERM.tiltY],
        (field) => field[TERM.centreY],
      ),
    ),
  );
  const centreReach = Math.max(
    spreadOf(draws, (field) => field[TERM.centreX]),
    spreadOf(draws, (field) => field[TERM.centreY]),
  );
  if (traded > tradedFrom && Math.abs(curvature) > depth && centreReach > 0.02 * r) {
    said.push(
      "Tilt and a shift of the optics' centre are hardly told apart here: the interval of the tilt holds both, with the centre expected near the sensor's.",
    );
  }
  if (spreadOf(draws, (field) => field[TERM.curvature] * r * r) > openDepths * depth) {
    said.push("The curvature is only roughly known.");
  }
  if (includesZero(best, draws, tilt)) said.push("A tilt is not told from none.");
  if (Math.abs(astigmatism) < depth / 2) said.push("There is hardly any astigmatism to go by.");
  return said;
}
