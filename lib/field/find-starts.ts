import type { Random } from "../maths/random.ts";
import { median, quantile } from "../maths/statistics.ts";
import { computeCost } from "./field-cost.ts";
import { NIGHT, type ShapeSamples, TERM } from "./field-model.ts";
import { computeResiduals, countParameters, type FieldProblem, placeNight } from "./field-problem.ts";

/** Guesses drawn, and the best of them that are handed on. */
const guesses = 1200;
const handedOn = 24;
/** Samples of a search over all frames: enough to tell a right guess from a wrong one. */
const samplesOfSearch = 90;

/** Every k-th sample, so that at most `most` are left, spread over the sensor as all are. */
function thinSamples(samples: ShapeSamples, most: number): ShapeSamples {
  const n = samples.count.length;
  const stride = Math.max(1, Math.ceil(n / most));
  const kept = Array.from({ length: Math.ceil(n / stride) }, (_, i) => i * stride);
  return {
    xMm: Float64Array.from(kept, (i) => samples.xMm[i]),
    yMm: Float64Array.from(kept, (i) => samples.yMm[i]),
    shape: Float64Array.from(kept.flatMap((i) => [...samples.shape.subarray(3 * i, 3 * i + 3)])),
    error: Float64Array.from(kept.flatMap((i) => [...samples.error.subarray(2 * i, 2 * i + 2)])),
    noise: Float64Array.from(kept.flatMap((i) => [...samples.noise.subarray(2 * i, 2 * i + 2)])),
    count: Float64Array.from(kept, (i) => samples.count[i]),
  };
}

/** The problem on few samples and with coarse errors, so that near misses count as near. */
export function coarsenProblem(problem: FieldProblem): FieldProblem {
  const most = Math.max(20, Math.ceil(samplesOfSearch / problem.frames.length));
  return {
    ...problem,
    frames: problem.frames.map((frame) => ({ ...frame, samples: thinSamples(frame.samples, most) })),
    modelError: { lnWidth: 0.03, e: 0.03 },
  };
}

function listWidths(samples: ShapeSamples): Float64Array {
  return Float64Array.from(samples.count, (_, i) => samples.shape[3 * i]);
}

/**
 * Starting points for the fit. The cost has several valleys (a tilt looks much like a curvature seen off centre, and
 * both surfaces may be exchanged), so guesses are drawn over all the heights that the widths allow, and the best by
 * cost are handed on. Without known focus offsets a field and its negative give the same frame; then only guesses with
 * astigmatism above zero are drawn.
 */
export function findStarts(problem: FieldProblem, random: Random): Float64Array[] {
  const coarse = coarsenProblem(problem);
  const { focalRatio, wavelengthUm } = problem.optics;
  const widths = problem.frames.map((frame) => listWidths(frame.samples));
  const narrowest = Math.min(...widths.map((list) => quantile(list, 0.05)));
  const widest = Math.max(...widths.map((list) => quantile(list, 0.97)));
  const growth = Math.sqrt(Math.max(0, Math.exp(2 * widest) - Math.exp(2 * narrowest)));
  const heightUm = 1.2 * focalRatio * growth + 2 * wavelengthUm * focalRatio ** 2;
  const bothSigns = problem.frames.some((frame) => frame.focusOffsetUm !== 0);
  const r = problem.halfDiagonalMm;
  const found: { parameters: Float64Array; cost: number }[] = [];
  const draw = (reach: number): number => (2 * random() - 1) * reach;
  for (let guess = 0; guess < guesses; guess++) {
    const parameters = new Float64Array(countParameters(problem));
    const curvature = draw(2 * heightUm);
    const focusedAt = random() < 0.6 ? random() : null;
    parameters[TERM.defocus] =
      focusedAt === null ? draw(heightUm) : -curvature * focusedAt ** 2 + draw(heightUm / 4);
    const tilt = random() < 0.25 ? 0 : heightUm * random();
    const direction = draw(Math.PI);
    parameters[TERM.tiltX] = (tilt * Math.cos(direction)) / r;
    parameters[TERM.tiltY] = (tilt * Math.sin(direction)) / r;
    parameters[TERM.curvature] = curvature / r ** 2;
    parameters[TERM.astigmatism] = (bothSigns ? draw(heightUm) : heightUm * random()) / r ** 2;
    // Where coma may be, it is drawn up to what makes the widest stars as wide as they are (across the radius).
    if (problem.expected[TERM.coma] > 0) parameters[TERM.coma] = (growth * random() ** 2) ** 2 / r ** 2;
    const finer = -0.25 * random() ** 2 + 0.02;
    const round = random() < 0.5;
    problem.frames.forEach((frame, f) => {
      const own = placeNight(f);
      parameters[own + NIGHT.lnWidth] = narrowest + finer;
      if (round) return;
      for (const term of [NIGHT.e1, NIGHT.e2]) {
        parameters[own + term] = median(
          Float64Array.from(frame.samples.count, (_, i) => frame.samples.shape[3 * i + term]),
        );
      }
    });
    const cost = computeCost(coarse, parameters, computeResiduals(coarse, parameters));
    if (found.length < handedOn || cost < found[found.length - 1].cost) {
      found.push({ parameters, cost });
      found.sort((a, b) => a.cost - b.cost);
      if (found.length > handedOn) found.pop();
    }
  }
  return found.map(({ parameters }) => parameters);
}
