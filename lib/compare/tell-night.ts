import { type BlurOptics, NIGHT, type NightBlur, prepareNight, TERM } from "../field/field-model.ts";
import { placeNight } from "../field/field-problem.ts";
import type { FieldFit } from "../field/fit-field.ts";
import { makeNormalRandom, makeRandom } from "../maths/random.ts";
import { resampleByWeight } from "../maths/resample.ts";
import {
  type ModelledFrame,
  type ModelledZone,
  makeDefocusField,
  modelBlurDiameter,
  modelWidth,
} from "./blur-in-zone.ts";
import { type BelievedNight, chooseRepresentatives, type NightRemoval } from "./remove-night.ts";
import type { SideStars } from "./side-stars.ts";
import { joinSweep, measureFocusMisfit, type SweptField } from "./use-sweep.ts";

/** The frames' nights as one: mean logarithm of the width in focus, mean elongation. */
function readNight(field: Float64Array, frames: number, optics: BlurOptics): NightBlur {
  let [lnWidth, e1, e2] = [0, 0, 0];
  for (let f = 0; f < frames; f++) {
    const own = placeNight(f);
    lnWidth += field[own + NIGHT.lnWidth] / frames;
    e1 += field[own + NIGHT.e1] / frames;
    e2 += field[own + NIGHT.e2] / frames;
  }
  return prepareNight(lnWidth, e1, e2, optics);
}

/**
 * One sigma by which a frame taken in focus is out of focus at the centre, um: a quarter of the quarter-wave depth 2 lambda
 * N2 (Rayleigh's limit; Born & Wolf, 8.8). Chosen: some 13 um at f/7, 8 um at f/5.5, what a motor focuser repeats within
 * (common practice, no source). A flat field out of focus all over looks like a poorer night, so the stars alone leave
 * this open; where their shapes tell it, they outweigh this.
 */
export function expectFocusUm({ wavelengthUm, focalRatio }: BlurOptics): number {
  return (wavelengthUm * focalRatio ** 2) / 2;
}

const sweepSeed = 31_337;

/**
 * The night as the field model tells it: the star in focus that goes with each believable field. A focus sweep of the same
 * night, where there is one, tells tilt, curvature and astigmatism along with it, and the focus where headers state it.
 */
export function removeNightByModel(
  fit: FieldFit,
  focusOffsetUm: number,
  stars: SideStars,
  swept: SweptField | null,
): NightRemoval {
  const { optics, problem } = fit;
  const frame = { focalRatio: optics.focalRatio, focusOffsetUm };
  const bestNight = readNight(fit.parameters, problem.frames.length, optics);
  const centre = chooseRepresentatives(fit.parameters, bestNight, frame, stars, stars.zones.centre);
  const believe = (field: Float64Array): BelievedNight => {
    const night = readNight(field, problem.frames.length, optics);
    return { field, night, centreUm: modelWidth(centre, field, 1, night, frame) };
  };
  const expected = expectFocusUm(optics);
  const focus = swept?.focus ?? null;
  const draws = swept === null ? fit.draws : joinSweep(fit.draws, swept, sweepSeed);
  const squares = draws.map((field) =>
    focus === null
      ? ((optics.focalRatio * modelBlurDiameter(centre, field, frame)) / expected) ** 2
      : measureFocusMisfit(field, focusOffsetUm, focus),
  );
  const least = Math.min(...squares);
  const kept = resampleByWeight(
    draws,
    squares.map((square) => Math.exp((least - square) / 2)),
  );
  return {
    optics,
    frame,
    best: believe(chooseMiddle(kept, centre, frame)),
    draws: kept.map(believe),
    isSwept: swept !== null,
    basis: describeBasis(swept, expected),
  };
}

function describeBasis(swept: SweptField | null, expectedUm: number): string {
  const model = `the field model of this test${swept === null ? "" : " with its focus sweep"}`;
  const focus = swept?.focus ?? null;
  return focus === null
    ? `${model}, the centre taken as in focus to ${expectedUm.toFixed(0)} um (one sigma)`
    : `${model}, which tells the centre's focus to ${focus.sigma.toFixed(0)} um (one sigma)`;
}

/** The field with the middle amount of blur at the centre: it stands for all of them. */
function chooseMiddle(
  fields: readonly Float64Array[],
  centre: ModelledZone,
  frame: ModelledFrame,
): Float64Array {
  const ranked = fields
    .map((field) => ({ field, blur: modelBlurDiameter(centre, field, frame) }))
    .sort((one, other) => one.blur - other.blur);
  return ranked[Math.floor(ranked.length / 2)].field;
}

const drawsWithoutModel = 400;

/**
 * Where no field model could be fitted: the centre's own width is taken for the night, in focus as `expectFocusUm` has it.
 * What pattern the blur has elsewhere is open: a defocus, or astigmatism at best focus.
 */
export function removeNightByCentre(centreWidthUm: number, optics: BlurOptics, seed: number): NightRemoval {
  const random = makeRandom(seed);
  const normal = makeNormalRandom(random);
  const expected = expectFocusUm(optics);
  const frame = { focalRatio: optics.focalRatio, focusOffsetUm: 0 };
  const believe = (heightUm: number, crossed: boolean): BelievedNight => {
    const field = makeDefocusField(heightUm);
    const here = { xMm: [0], yMm: [0] };
    let focused = centreWidthUm;
    // The width in focus that this height widens to the one seen.
    for (let step = 0; step < 6; step++) {
      const night = prepareNight(Math.log(focused), 0, 0, optics);
      focused *= centreWidthUm / modelWidth(here, field, 1, night, frame);
    }
    const night = prepareNight(Math.log(focused), 0, 0, optics);
    const pattern = makeDefocusField(Math.max(1, Math.abs(heightUm)));
    if (crossed) {
      // Foci at equal distances on either side of the sensor, all over the field but for its very centre.
      pattern[TERM.defocus] = 0;
      pattern[TERM.astigmatism] = Math.max(1, Math.abs(heightUm)) / 100;
    }
    return { field: pattern, night, centreUm: centreWidthUm };
  };
  return {
    optics,
    frame,
    best: believe(expected / 2, false),
    draws: Array.from({ length: drawsWithoutModel }, () => believe(expected * normal(), random() < 0.5)),
    isSwept: false,
    basis: `the width at the centre, taken as in focus to ${expected.toFixed(0)} um (one sigma)`,
  };
}
