import { describe, expect, it } from "vitest";
import { makeRandom } from "../../lib/maths/random.ts";
import { makePlainField } from "../../lib/stars/learn-field.ts";
import { makeProfileEquations } from "../../lib/stars/learn-profile.ts";
import { BASES, CHANGING_TERMS, makeProfileReader, readBases } from "../../lib/stars/profile-field.ts";
import { solveProfile } from "../../lib/stars/solve-profile.ts";

const plane = { widthPx: 1000, heightPx: 800 };

/** Equations of made-up stars: random products of derivatives, and a pull of some ten sigmas on every coefficient. */
function makeEquations(terms: number, seed: number) {
  const random = makeRandom(seed);
  const equations = makeProfileEquations(terms);
  const size = terms * BASES;
  for (let star = 0; star < 3 * size; star++) {
    const row = Float64Array.from({ length: size }, () => 20 * (random() - 0.5));
    const residual = 30 * random();
    for (let a = 0; a < size; a++) {
      equations.gradient[a] += row[a] * residual;
      for (let b = 0; b < size; b++) equations.normal[a * size + b] += row[a] * row[b];
    }
  }
  return equations;
}

function readCorrection(coefficients: Float64Array, term: number, u: number): number {
  const four = new Float64Array(4);
  const first = readBases(u, four);
  return four.reduce((sum, share, i) => sum + share * coefficients[term * BASES + first + i], 0);
}

describe("solveProfile(field, equations, sibling)", () => {
  it("leaves a star's peak and half-maximum to the star: the correction is below 0.001 at radius 0 and 1; seed 5", () => {
    const solved = solveProfile(makePlainField(plane, 3.2), makeEquations(1, 5));
    expect(Math.abs(readCorrection(solved.coefficients, 0, 0))).toBeLessThan(0.001);
    expect(Math.abs(readCorrection(solved.coefficients, 0, 1))).toBeLessThan(0.001);
    // It is a correction all the same.
    expect(Math.max(...solved.coefficients.map(Math.abs))).toBeGreaterThan(0.01);
    expect(Math.abs(makeProfileReader(solved)(500, 400).halfRadius - 1)).toBeLessThan(0.001);
  });

  it("moves nothing where the equations ask for nothing, with all terms in use", () => {
    const field = {
      ...makePlainField(plane, 3.2),
      terms: CHANGING_TERMS,
      coefficients: new Float64Array(CHANGING_TERMS * BASES),
    };
    const equations = makeEquations(CHANGING_TERMS, 6);
    const solved = solveProfile(field, { ...equations, gradient: equations.gradient.map(() => 0) });
    expect(solved.coefficients.every((value) => value === 0)).toBe(true);
  });

  it("stays at the sibling's coefficients where nothing is asked for", () => {
    const sibling = solveProfile(makePlainField(plane, 3.2), makeEquations(1, 7));
    const equations = makeProfileEquations(1);
    const solved = solveProfile(sibling, equations, sibling);
    solved.coefficients.forEach((value, k) => {
      expect(Math.abs(value - sibling.coefficients[k])).toBeLessThan(1e-9);
    });
  });
});
