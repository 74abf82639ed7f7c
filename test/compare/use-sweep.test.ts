import { describe, expect, it } from "vitest";
import { joinSweep, measureFocusMisfit, readSweptField } from "../../lib/compare/use-sweep.ts";
import { TERM, TERMS } from "../../lib/field/field-model.ts";
import { makeMeasured } from "../../lib/maths/quantity.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import { mean, standardDeviation } from "../../lib/maths/statistics.ts";
import { drawNight, makeSide, native } from "./simulate-sides.ts";

/** Draws whose astigmatism scatters by 0.015 about -0.13 um/mm2; coma stands for a term bound to it by 0.8. */
function drawFields(count: number, sign = 1): Float64Array[] {
  const normal = makeNormalRandom(makeRandom(11));
  return Array.from({ length: count }, () => {
    const field = new Float64Array(TERMS + 4);
    const z = normal();
    field[TERM.astigmatism] = sign * (-0.13 + 0.015 * z);
    field[TERM.coma] = 2 + 0.8 * z + 0.6 * normal();
    field[TERM.tiltX] = sign * (0.5 + 0.1 * normal());
    return field;
  });
}

const told = { terms: [{ term: TERM.astigmatism, told: { value: -0.1, sigma: 0.005 } }], focus: null };

describe("joinSweep(draws, swept, seed)", () => {
  it("is the product of two normal evidences: mean -0.103, sigma 0.0047, and the bound term follows (4,000 draws, seed 5)", () => {
    const joined = joinSweep(drawFields(4000), told, 5);
    const values = joined.map((field) => field[TERM.astigmatism]);
    const share = 0.015 ** 2 / (0.015 ** 2 + 0.005 ** 2);
    expect(Math.abs(mean(values) - (-0.13 + 0.03 * share))).toBeLessThan(0.0005);
    expect(standardDeviation(values) / (0.015 * Math.sqrt(1 - share))).toBeCloseTo(1, 1);
    // Bound by 0.8 per 0.015 of astigmatism.
    const moved = mean(joined.map((field) => field[TERM.coma])) - 2;
    expect(moved / ((0.8 / 0.015) * 0.03 * share)).toBeCloseTo(1, 1);
  });

  it("gives the same from draws with all heights negated, for the sweep has the sign (seed 5)", () => {
    const [forth, back] = [joinSweep(drawFields(200), told, 5), joinSweep(drawFields(200, -1), told, 5)];
    forth.forEach((field, k) => {
      expect(back[k][TERM.astigmatism]).toBeCloseTo(field[TERM.astigmatism], 12);
      expect(back[k][TERM.tiltX]).toBeCloseTo(field[TERM.tiltX], 12);
    });
  });

  it("leaves draws nearly alone where the sweep tells a term ten times worse than they do", () => {
    const vague = { ...told, terms: [{ term: TERM.astigmatism, told: { value: 0, sigma: 0.15 } }] };
    const values = joinSweep(drawFields(400), vague, 5).map((field) => field[TERM.astigmatism]);
    expect(Math.abs(mean(values) + 0.13)).toBeLessThan(0.003);
  });
});

describe("readSweptField(side)", () => {
  const tilt = makeMeasured(0.8, "um/mm", 0.7, 0.9, 9);
  const sweep = {
    defocus: makeMeasured(0.6, "um", -0.4, 1.6, 9),
    tiltX: tilt,
    tiltY: tilt,
    curvature: makeMeasured(-0.01, "um/mm2", -0.02, 0, 9),
    astigmatism: makeMeasured(-0.1, "um/mm2", -0.107, -0.093, 9),
    bestPosition: makeMeasured(13_181.4, "um", 13_178.2, 13_184.6, 9),
  };
  const night = { seed: 1, stars: 12, frames: 2, frameScatter: 0 };
  function makeSwept(positions: readonly (number | null)[], asked = "header:FOCUSPOS") {
    const side = makeSide(
      native,
      drawNight(native, () => [1, 0, 0], night),
      "one",
      "2026-10-03",
    );
    const record = { ...side.test?.record, sweep: { frames: [], positions: asked, umPerStep: 1.6 } };
    return {
      ...side,
      test: { ...side.test, record },
      results: { ...side.results, sweep },
      measurement: { frames: positions.map((focuserPosition) => ({ header: { focuserPosition } })) },
    } as unknown as Parameters<typeof readSweptField>[0];
  }

  it("tells the centre's height from the position in the headers: 0.6 + 8240 x 1.6 - 13181.4 = 3.2 um", () => {
    const swept = readSweptField(makeSwept([8240, 8240]));
    expect(swept?.focus?.value).toBeCloseTo(3.2, 9);
    // 0.5 and 1.6 um of the sweep, 5 um of the draw tube.
    expect(swept?.focus?.sigma).toBeCloseTo(Math.hypot(1 / 1.959964, 3.2 / 1.959964, 5), 6);
    expect(swept?.terms.map(({ term }) => term)).toEqual([
      TERM.tiltX,
      TERM.tiltY,
      TERM.curvature,
      TERM.astigmatism,
    ]);
    expect(swept?.terms[3].told.sigma).toBeCloseTo(0.007 / 1.959964, 9);
  });

  it("leaves the focus open where headers lack the position, differ, or the sweep goes by another keyword or a list", () => {
    for (const side of [
      makeSwept([null, null]),
      makeSwept([8240, 8241]),
      makeSwept([]),
      makeSwept([8240, 8240], "header:MYFOCUS"),
    ])
      expect(readSweptField(side)?.focus).toBeNull();
  });

  it("is null without a sweep", () => {
    const side = makeSwept([8240]);
    expect(readSweptField({ ...side, results: null })).toBeNull();
  });

  it("counts the distance of a field from the focus told in its errors, a known offset taken in", () => {
    const field = new Float64Array(TERMS);
    field[TERM.defocus] = 8;
    expect(measureFocusMisfit(field, 0, { value: 3, sigma: 5 })).toBeCloseTo(1, 12);
    expect(measureFocusMisfit(field, -5, { value: 3, sigma: 5 })).toBeCloseTo(0, 12);
  });
});
