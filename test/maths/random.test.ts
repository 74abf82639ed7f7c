import { describe, expect, it } from "vitest";
import {
  drawIndex,
  drawPoisson,
  makeNormalRandom,
  makeRandom,
  makeWordSource,
} from "../../lib/maths/random.ts";
import { mean, standardDeviation } from "../../lib/maths/statistics.ts";

describe("makeRandom", () => {
  // First outputs of xoshiro128** from state 1, 2, 3, 4: worked by hand for the first two
  // (rotl(2*5, 7)*9 = 11520; then s1 = 0 gives 0), the rest as in the Rust crate rand_xoshiro's
  // own test of this generator, from memory.
  it("gives the generator's published first words 11520, 0, 5927040, 70819200 from state 1 2 3 4", () => {
    const next = makeWordSource([1, 2, 3, 4]);
    expect([next(), next(), next(), next()]).toEqual([11520, 0, 5927040, 70819200]);
  });

  it("repeats for the same seed and differs for the next", () => {
    const draw = (seed: number) => Array.from({ length: 5 }, makeRandom(seed));
    expect(draw(7)).toEqual(draw(7));
    expect(draw(7)).not.toEqual(draw(8));
  });

  // seed 1; 100,000 draws in 20 bins: chi-square with 19 degrees of freedom, 99.9 % below 43.8
  it("fills 20 bins evenly (chi-square below 43.8) and stays within [0, 1)", () => {
    const random = makeRandom(1);
    const bins = new Array<number>(20).fill(0);
    for (let draw = 0; draw < 100_000; draw++) bins[drawIndex(random, 20)]++;
    const chiSquare = bins.reduce((sum, count) => sum + (count - 5000) ** 2 / 5000, 0);
    expect(bins.length).toBe(20);
    expect(chiSquare).toBeLessThan(43.8);
  });

  // seeds 0..9999: neighbouring seeds must not give related first numbers; sd of the correlation is 0.01
  it("starts unrelated sequences for neighbouring seeds: correlation of first numbers below 0.04", () => {
    const first = Array.from({ length: 10_001 }, (_, seed) => makeRandom(seed)() - 0.5);
    const sum = first.slice(0, -1).reduce((total, value, index) => total + value * first[index + 1], 0);
    expect(Math.abs((12 * sum) / 10_000)).toBeLessThan(0.04);
  });
});

describe("makeNormalRandom", () => {
  // seed 3; 200,000 draws: sd of the mean 0.0022, of the variance 0.0032, of the fourth moment 0.022
  it("has mean 0, variance 1, fourth moment 3 and 5 % beyond 1.96", () => {
    const random = makeNormalRandom(makeRandom(3));
    const sample = Float64Array.from({ length: 200_000 }, random);
    expect(mean(sample)).toBeCloseTo(0, 2);
    expect(standardDeviation(sample)).toBeCloseTo(1, 2);
    expect(mean(sample.map((value) => value ** 4))).toBeCloseTo(3, 0.9);
    const beyond = sample.filter((value) => Math.abs(value) > 1.959964).length / sample.length;
    expect(Math.abs(beyond - 0.05)).toBeLessThan(0.002);
  });
});

describe("drawPoisson", () => {
  // seed 11; 40,000 draws each: mean and variance within 4 standard errors of the distribution's
  it("has mean and variance equal to the mean asked for at 0.3, 8, 29, 31, 400 and 50,000", () => {
    const random = makeRandom(11);
    for (const expected of [0.3, 8, 29, 31, 400, 50_000]) {
      const sample = Float64Array.from({ length: 40_000 }, () => drawPoisson(random, expected));
      expect(Math.abs(mean(sample) - expected)).toBeLessThan(4 * Math.sqrt(expected / 40_000));
      const variance = standardDeviation(sample) ** 2;
      const spread = Math.sqrt((2 * expected ** 2 + expected) / 40_000);
      expect(Math.abs(variance - expected)).toBeLessThan(4 * spread);
    }
    expect(drawPoisson(random, 0)).toBe(0);
  });
});
