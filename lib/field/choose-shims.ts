import { fitLeastSquares } from "../maths/least-squares.ts";

/** Where a shim goes, mm from the axis, and how much should lie there, um, up to one amount for all. */
export interface ShimPlace {
  x: number;
  y: number;
  wantedUm: number;
}

/** What is laid at one place. */
export interface LaidShim {
  thicknessUm: number;
  madeOfUm: number[];
}

/** Shims that may lie on one another: more spring. Common practice, no source. */
const mostOnEachOther = 3;
/** Step of thicknesses where none are on record, um: the finest foil commonly sold (common practice, no source). */
const foilUm = 10;
/** Heights tried for the plate as a whole above its lowest place, um. */
const liftStepUm = 1;
const mostLiftUm = 120;

/** Every thickness that the shims at hand make up, thinnest first, each from as few as can be. */
export function listThicknesses(ownedUm: readonly number[], mostUm: number): LaidShim[] {
  if (ownedUm.length === 0) {
    const count = Math.ceil(mostUm / foilUm) + 1;
    return Array.from({ length: count }, (_, k) => ({
      thicknessUm: foilUm * k,
      madeOfUm: k === 0 ? [] : [foilUm * k],
    }));
  }
  const owned = [...new Set(ownedUm)].sort((a, b) => b - a);
  const made = new Map<number, number[]>([[0, []]]);
  let layer: number[][] = [[]];
  for (let count = 1; count <= mostOnEachOther; count++) {
    layer = layer.flatMap((stack) =>
      owned
        .filter((foil) => stack.length === 0 || foil <= stack[stack.length - 1])
        .map((foil) => [...stack, foil]),
    );
    for (const stack of layer) {
      const thickness = Math.round(stack.reduce((sum, foil) => sum + foil, 0) * 10) / 10;
      if (!made.has(thickness)) made.set(thickness, stack);
    }
  }
  return [...made]
    .map(([thicknessUm, madeOfUm]) => ({ thicknessUm, madeOfUm }))
    .sort((a, b) => a.thicknessUm - b.thicknessUm);
}

/** Gradient (um/mm) and height at the axis (um) of the plate that rests on the shims. */
export function restPlate(places: readonly ShimPlace[], laid: readonly LaidShim[]) {
  const fit = fitLeastSquares(
    places.flatMap(({ x, y }) => [1, x, y]),
    laid.map(({ thicknessUm }) => thicknessUm),
    3,
  );
  if (fit === null) return { x: 0, y: 0, shift: 0 };
  const [shift, x, y] = fit.coefficients;
  return { x, y, shift };
}

/**
 * The shims at hand that come nearest to what is wanted, each place's nearest thickness at the common lift that leaves
 * the least tilt; of lifts that leave the same within half a micrometre per 10 mm, the lowest.
 */
export function chooseShims(places: readonly ShimPlace[], ownedUm: readonly number[]): LaidShim[] {
  const lowest = Math.min(...places.map(({ wantedUm }) => wantedUm));
  const highest = Math.max(...places.map(({ wantedUm }) => wantedUm));
  const thicknesses = listThicknesses(ownedUm, highest - lowest + mostLiftUm);
  const wanted = restPlate(
    places,
    places.map(({ wantedUm }) => ({ thicknessUm: wantedUm, madeOfUm: [] })),
  );
  let best: { laid: LaidShim[]; left: number } | null = null;
  const lifts = ownedUm.length === 0 ? 0 : mostLiftUm;
  for (let lift = 0; lift <= lifts; lift += liftStepUm) {
    const laid = places.map(({ wantedUm }) => findNearest(thicknesses, wantedUm - lowest + lift));
    const rest = restPlate(places, laid);
    const left = Math.hypot(rest.x - wanted.x, rest.y - wanted.y);
    if (best === null || left < best.left - 0.05) best = { laid, left };
  }
  return best?.laid ?? [];
}

function findNearest(thicknesses: readonly LaidShim[], wantedUm: number): LaidShim {
  return thicknesses.reduce((best, next) =>
    Math.abs(next.thicknessUm - wantedUm) < Math.abs(best.thicknessUm - wantedUm) ? next : best,
  );
}
