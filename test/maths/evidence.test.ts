import { describe, expect, it } from "vitest";
import { searchSizes, solveWithPrior } from "../../lib/maths/evidence.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";

describe("solveWithPrior(normal, right, precision, lnDeterminant)", () => {
  it("finds 1.2 for one unknown measured as 1.5 +- 0.5 where 0 +- 1 was expected, and its evidence", () => {
    const solved = solveWithPrior(Float64Array.of(4), Float64Array.of(6), Float64Array.of(1), 0)!;
    expect(solved.solution[0]).toBeCloseTo(1.2, 12);
    // ln of a normal law of variance 1 + 0.25 at 1.5 against that of variance 0.25 at its own centre, constants apart:
    // -1/2 ln(1 + 4) + 1/2 6^2 / 5.
    expect(solved.evidence).toBeCloseTo(-Math.log(5) / 2 + 36 / 10, 12);
  });

  it("gives the differences of evidence that the marginal normal law has: three data, two unknowns, two priors", () => {
    const design = [
      [1, 0],
      [1, 1],
      [1, 3],
    ];
    const data = [0.3, 1.1, 2.2];
    const normal = new Float64Array(4);
    const right = new Float64Array(2);
    design.forEach((row, i) => {
      for (let a = 0; a < 2; a++) {
        right[a] += row[a] * data[i];
        for (let b = 0; b < 2; b++) normal[2 * a + b] += row[a] * row[b];
      }
    });
    const byEvidence = (size: number) =>
      solveWithPrior(normal, right, Float64Array.of(size ** -2, 0, 0, size ** -2), -4 * Math.log(size))!
        .evidence;
    // The data's own covariance is the unit matrix plus size^2 times design by its transpose.
    const byMarginal = (size: number) => {
      const c = design.map((a, i) =>
        design.map((b, j) => (i === j ? 1 : 0) + size ** 2 * (a[0] * b[0] + a[1] * b[1])),
      );
      const minor = (i: number, j: number) => {
        const [p, q] = [0, 1, 2].filter((k) => k !== i);
        const [r, s] = [0, 1, 2].filter((k) => k !== j);
        return (-1) ** (i + j) * (c[p][r] * c[q][s] - c[p][s] * c[q][r]);
      };
      const determinant = [0, 1, 2].reduce((sum, j) => sum + c[0][j] * minor(0, j), 0);
      let square = 0;
      for (let i = 0; i < 3; i++) {
        for (let j = 0; j < 3; j++) square += (data[i] * data[j] * minor(j, i)) / determinant;
      }
      return -0.5 * (Math.log(determinant) + square);
    };
    expect(byEvidence(2) - byEvidence(0.1)).toBeCloseTo(byMarginal(2) - byMarginal(0.1), 10);
  });

  it("yields nothing where the sum of both matrices has no inverse", () => {
    expect(solveWithPrior(Float64Array.of(0), Float64Array.of(1), Float64Array.of(0), 0)).toBeNull();
  });
});

describe("searchSizes(start, tried, judge)", () => {
  it("finds the top of a hill that is the sum of its groups', whatever it starts from", () => {
    const judge = (sizes: readonly number[]) => -((sizes[0] - 0.1) ** 2) - (sizes[1] - 3) ** 2;
    for (const start of [
      [0.01, 0.01],
      [3, 0.1],
    ]) {
      expect(searchSizes(start, [0.01, 0.1, 1, 3], judge)).toEqual([0.1, 3]);
    }
  });

  it("chooses 1 for a term that scatters by 1 and the least for one that is not there: 40 unknowns of each; seed 5", () => {
    const normal = makeNormalRandom(makeRandom(5));
    const count = 40;
    const right = Float64Array.from(
      { length: 2 * count },
      (_, k) => 100 * ((k < count ? normal() : 0) + 0.1 * normal()),
    );
    const matrix = new Float64Array(4 * count * count);
    for (let k = 0; k < 2 * count; k++) matrix[k * 2 * count + k] = 100;
    const sizes = searchSizes([0.1, 0.1], [0.001, 0.01, 0.1, 1, 10], (tried) => {
      const precision = new Float64Array(matrix.length);
      for (let k = 0; k < 2 * count; k++) precision[k * 2 * count + k] = tried[k < count ? 0 : 1] ** -2;
      const lnDeterminant = -2 * count * (Math.log(tried[0]) + Math.log(tried[1]));
      return solveWithPrior(matrix, right, precision, lnDeterminant)!.evidence;
    });
    expect(sizes[0]).toBe(1);
    expect(sizes[1]).toBeLessThanOrEqual(0.01);
  });
});
