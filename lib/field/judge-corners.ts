import { makeNormalRandom, makeRandom } from "../maths/random.ts";
import type { Corner } from "../report/results.ts";
import { type GridShelf, makeGridShelf } from "./blur-width.ts";
import { countClasses, judge, type Verdict } from "./confidence.ts";
import { toEllipticity } from "./debias-ellipticity.ts";
import { evaluateShape, NIGHT, prepareNight } from "./field-model.ts";
import { placeNight } from "./field-problem.ts";
import type { FieldFit } from "./fit-field.ts";
import { CORNERS, computeRadialComponent, nameQuadrant, ZONE_EDGES } from "./geometry.ts";

export type CornerClass = "radial" | "tangential" | "oblique" | "round";
export const CORNER_CLASSES: readonly CornerClass[] = ["radial", "tangential", "oblique", "round"];

/** Below this ellipticity a corner counts as round. */
const roundBelow = 0.06;
/** A long axis within this angle of the radius is radial, within it of the direction across tangential. */
const withinRad = Math.PI / 6;

/**
 * Class of a mean spin-2 pair given by its components along the radius and at 45 degrees to it: "round" below an
 * ellipticity of 0.06, else by the long axis' angle to the radius: to 30 degrees radial, from 60 tangential.
 */
export function classifyCorner(radial: number, crossed: number): CornerClass {
  if (toEllipticity(Math.hypot(radial, crossed)) < roundBelow) return "round";
  const angle = Math.abs(Math.atan2(crossed, radial)) / 2;
  return angle < withinRad ? "radial" : angle > Math.PI / 2 - withinRad ? "tangential" : "oblique";
}

/** Components of (e1, e2) along the radius and at 45 degrees to it. */
export function turnToRadius(e1: number, e2: number, xMm: number, yMm: number): [number, number] {
  return [
    computeRadialComponent(e1, e2, xMm, yMm),
    // A quarter of a turn in spin-2 space is the pair (e2, -e1).
    computeRadialComponent(e2, -e1, xMm, yMm),
  ];
}

/** Places spread evenly over a corner's zone, mm. */
export function listCornerPlaces(corner: Corner, fit: FieldFit): { x: number; y: number }[] {
  const { sensorWidthMm, sensorHeightMm } = fit.optics.geometry;
  const places: { x: number; y: number }[] = [];
  const steps = 24;
  for (let i = 0; i < steps; i++) {
    for (let j = 0; j < steps; j++) {
      const x = ((i + 0.5) / steps - 0.5) * sensorWidthMm;
      const y = ((j + 0.5) / steps - 0.5) * sensorHeightMm;
      const rho = Math.hypot(x, y) / fit.problem.halfDiagonalMm;
      if (rho > ZONE_EDGES.outer && nameQuadrant(x, y) === corner) places.push({ x, y });
    }
  }
  return places;
}

/** How far the model may miss a corner's mean elongation: what the stars there may correct it by. */
const modelMiss = 0.03;
/** Stars count for their corner from this field radius on. */
const nearCorner = 0.65;

const shape = new Float64Array(3);

type Places = readonly { x: number; y: number }[];

/** Mean components of a field over each of several lists of places, mean over the frames. */
function averageModel(
  fit: FieldFit,
  field: Float64Array,
  lists: readonly Places[],
  shelf: GridShelf,
): [number, number][] {
  const sums = lists.map((): [number, number] => [0, 0]);
  fit.problem.frames.forEach(({ focusOffsetUm }, f) => {
    const own = placeNight(f);
    const night = prepareNight(
      field[own + NIGHT.lnWidth],
      field[own + NIGHT.e1],
      field[own + NIGHT.e2],
      fit.optics,
      shelf,
    );
    const focusUm = focusOffsetUm + field[own + NIGHT.focus];
    lists.forEach((places, k) => {
      for (const { x, y } of places) {
        evaluateShape(field, night, focusUm, fit.optics.focalRatio, x, y, shape, 0);
        const [along, aside] = turnToRadius(shape[1], shape[2], x, y);
        sums[k][0] += along;
        sums[k][1] += aside;
      }
    });
  });
  return sums.map(([radial, crossed], k) => {
    const count = lists[k].length * fit.problem.frames.length;
    return [radial / count, crossed / count];
  });
}

/** What the stars near a corner show beyond the best field, and its error; and how many they are. */
function averageRemainder(
  fit: FieldFit,
  corner: Corner,
): { radial: number; crossed: number; error: number; stars: number } {
  let [radial, crossed, information, stars] = [0, 0, 0, 0];
  const { residuals } = fit.modes[0].point;
  const { modelError, errorFactor } = fit.problem;
  let at = 0;
  for (const { samples } of fit.problem.frames) {
    for (let i = 0; i < samples.count.length; i++, at += 3) {
      const [x, y] = [samples.xMm[i], samples.yMm[i]];
      const rho = Math.hypot(x, y) / fit.problem.halfDiagonalMm;
      if (rho < nearCorner || nameQuadrant(x, y) !== corner) continue;
      const error = errorFactor.e * Math.hypot(samples.error[2 * i + 1], modelError.e);
      stars += samples.count[i];
      if (Math.hypot(residuals[at + 1], residuals[at + 2]) > 5) continue;
      const [along, aside] = turnToRadius(residuals[at + 1] * error, residuals[at + 2] * error, x, y);
      const weight = 1 / (error * error);
      radial += weight * along;
      crossed += weight * aside;
      information += weight;
    }
  }
  if (information === 0) return { radial: 0, crossed: 0, error: Number.POSITIVE_INFINITY, stars };
  return {
    radial: radial / information,
    crossed: crossed / information,
    error: 1 / Math.sqrt(information),
    stars,
  };
}

export type CornerVerdict = Verdict<CornerClass> & {
  likeliest: CornerClass;
  belief: number;
  /** Ellipticity of the mean elongation. */
  ellipticity: number;
  /** Stars that lie near this corner, over all frames. */
  stars: number;
};

/**
 * Each corner zone's class: the model's mean elongation over the zone, corrected by what the stars near that corner show
 * beyond it (as far as they are more certain than the model), over all the fit's draws. A corner without a star in
 * its outer third is unknown: the model alone would be a guess.
 */
export function judgeCorners(fit: FieldFit, seed: number): Record<Corner, CornerVerdict> {
  const normal = makeNormalRandom(makeRandom(seed));
  const places = CORNERS.map((corner) => listCornerPlaces(corner, fit).filter((_, k) => k % 3 === 0));
  const shelf = makeGridShelf(fit.optics.obstructionRatio);
  const drawn = fit.draws.filter((_, k) => k % 2 === 0).map((draw) => averageModel(fit, draw, places, shelf));
  const model = averageModel(fit, fit.parameters, places, shelf);
  const verdicts = CORNERS.map((corner, c): [Corner, CornerVerdict] => {
    const beyond = averageRemainder(fit, corner);
    const trust = modelMiss ** 2 / (modelMiss ** 2 + beyond.error ** 2);
    const left = Number.isFinite(beyond.error) ? Math.sqrt(trust) * beyond.error : modelMiss;
    const correct = ([radial, crossed]: [number, number], shake: number): [number, number] => [
      radial + trust * beyond.radial + shake * left * normal(),
      crossed + trust * beyond.crossed + shake * left * normal(),
    ];
    const draws = drawn.map((corners) => correct(corners[c], 1));
    const best = correct(model[c], 0);
    const beliefs = countClasses(draws, CORNER_CLASSES, ([radial, crossed]) =>
      classifyCorner(radial, crossed),
    );
    const verdict = judge("corner", beliefs);
    const ellipticity = toEllipticity(Math.hypot(...best));
    if (beyond.stars > 0) return [corner, { ...verdict, ellipticity, stars: beyond.stars }];
    return [corner, { ...verdict, class: "unknown", ellipticity, stars: 0 }];
  });
  return Object.fromEntries(verdicts) as Record<Corner, CornerVerdict>;
}
