import { describe, expect, it } from "vitest";
import { fitYorkLine } from "../../lib/maths/york-fit.ts";

/** Pearson's data with York's weights (York 1966, Can. J. Phys. 44:1079, table II). */
const x = [0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
const y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
const xError = [1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1].map((weight) => 1 / Math.sqrt(weight));
const yError = [1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500].map((weight) => 1 / Math.sqrt(weight));

describe("fitYorkLine", () => {
  // Published: slope -0.48053 +- 0.05799, intercept 5.47991 +- 0.29497, chi-square 11.87 (York et al. 2004, Am. J. Phys. 72:367).
  it("gives Pearson's data with York's weights slope -0.48053 +- 0.05799, intercept 5.47991 +- 0.29497, chi-square 11.87", () => {
    const line = fitYorkLine(x, y, xError, yError);
    expect(line.converged).toBe(true);
    expect(line.slope).toBeCloseTo(-0.4805334, 7);
    expect(line.intercept).toBeCloseTo(5.4799102, 7);
    expect(line.slopeError).toBeCloseTo(0.05799, 4);
    expect(line.interceptError).toBeCloseTo(0.29497, 3);
    expect(line.chiSquare).toBeCloseTo(11.86635, 5);
    expect(line.degreesOfFreedom).toBe(8);
  });

  it("turns about with its axes: fitted as x against y the slope is 1 over the slope", () => {
    const line = fitYorkLine(x, y, xError, yError);
    const turned = fitYorkLine(y, x, yError, xError);
    expect(turned.slope).toBeCloseTo(1 / line.slope, 8);
    expect(turned.chiSquare).toBeCloseTo(line.chiSquare, 8);
  });

  it("leaves out points with NaN or without an error, and has no line through two points or equal x", () => {
    const more = fitYorkLine([...x, 3, Number.NaN], [...y, 99, 2], [...xError, 0, 1], [...yError, 1, 1]);
    expect(more.slope).toBeCloseTo(-0.4805334, 7);
    expect(fitYorkLine([1, 2], [1, 2], [1, 1], [1, 1]).slope).toBeNaN();
    expect(fitYorkLine([1, 1, 1], [1, 2, 3], [1, 1, 1], [1, 1, 1]).slope).toBeNaN();
  });
});
