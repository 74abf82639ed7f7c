import { describe, expect, it } from "vitest";
import { makeRandom } from "../../lib/maths/random.ts";
import { adviseSpacing } from "../../lib/train/advise-spacing.ts";
import { chooseSpacers, poolSpacers } from "../../lib/train/choose-spacers.ts";
import { makeTest, makeTrain } from "./make-train.ts";

/** Slow twin: every subset. */
function findNearest(wanted: number, owned: readonly number[]): { error: number; pieces: number } {
  let best = { error: Math.abs(wanted), pieces: 0 };
  for (let mask = 1; mask < 2 ** owned.length; mask++) {
    const chosen = owned.filter((_, index) => (mask >> index) & 1);
    const error = Math.abs(chosen.reduce((sum, spacer) => sum + spacer, 0) - wanted);
    if (error < best.error - 1e-9 || (Math.abs(error - best.error) < 1e-9 && chosen.length < best.pieces)) {
      best = { error, pieces: chosen.length };
    }
  }
  return best;
}

describe("chooseSpacers", () => {
  it("makes 1.7 mm of 1.0 + 0.5 + 0.2, each used once", () => {
    expect(chooseSpacers(1.68, [0.1, 0.2, 0.3, 0.5, 1.0])).toEqual({
      spacersMm: [1, 0.5, 0.2],
      excessMm: 0.02,
    });
  });

  it("takes one spacer rather than two where both fit", () => {
    expect(chooseSpacers(1, [0.5, 0.5, 1]).spacersMm).toEqual([1]);
  });

  it("takes all where all are too few, and none where none are wanted", () => {
    expect(chooseSpacers(5, [0.5, 1])).toEqual({ spacersMm: [1, 0.5], excessMm: -3.5 });
    expect(chooseSpacers(-2, [0.5])).toEqual({ spacersMm: [], excessMm: 2 });
    expect(chooseSpacers(0.3, [])).toEqual({ spacersMm: [], excessMm: -0.3 });
  });

  it("goes one over where that is nearer: 0.9 mm from 0.5 and 1.0 is 1.0", () => {
    expect(chooseSpacers(0.9, [0.5, 1]).spacersMm).toEqual([1]);
  });

  // seed 12; 200 lists of up to 9 spacers in steps of 0.05 mm
  it("agrees with trying every subset of 200 random lists, in error and in number of pieces", () => {
    const random = makeRandom(12);
    for (let trial = 0; trial < 200; trial++) {
      const owned = Array.from(
        { length: Math.floor(random() * 10) },
        () => Math.round(1 + random() * 40) / 20,
      );
      const wanted = Math.round(random() * 6000) / 1000;
      const choice = chooseSpacers(wanted, owned);
      const expected = findNearest(wanted, owned);
      expect(Math.abs(choice.excessMm)).toBeCloseTo(expected.error, 6);
      expect(choice.spacersMm.length).toBe(expected.pieces);
    }
  });

  it("survives a hostile list: 10,000 spacers, negative, endless and not numbers", () => {
    const owned = Array.from({ length: 10_000 }, (_, index) => index / 100);
    const choice = chooseSpacers(3.21, [...owned, -4, Number.NaN, Number.POSITIVE_INFINITY, 1e300]);
    expect(Number.isFinite(choice.excessMm)).toBe(true);
  });
});

describe("poolSpacers", () => {
  it("counts a spacer in the stack as one of those owned, and adds those that are not on the list", () => {
    expect(poolSpacers([0.5, 1], [1])).toEqual([0.5, 1]);
    expect(poolSpacers([0.5, 1], [1, 1, 0.2])).toEqual([0.5, 1, 1, 0.2]);
  });
});

describe("adviseSpacing", () => {
  it("says what to put in: 0.68 mm too close, 1 + 0.5 + 0.2 in place of 1 mm, 0.02 mm left", () => {
    const advice = adviseSpacing(makeTrain())!;
    expect(advice.combination).toEqual([1, 0.5, 0.2]);
    expect(advice.change.value).toBeCloseTo(0.681608, 6);
    expect(advice.remaining.value).toBeCloseTo(0.018392, 6);
    expect(advice.sentence).toBe(
      "The sensor is 0.68 mm too close: 0.68 mm must go in. Use 1 + 0.5 + 0.2 mm in place of 1 mm; that leaves 0.02 mm too far.",
    );
  });

  it("says what to take out where the sensor is too far", () => {
    const advice = adviseSpacing(makeTrain(), makeTest({ spacersMm: [1, 1, 0.3] }))!;
    expect(advice.change.value).toBeCloseTo(-0.618392, 6);
    expect(advice.combination).toEqual([1, 0.5, 0.2]);
    expect(advice.sentence).toMatch(/0.62 mm too far away: 0.62 mm must come out/);
  });

  it("leaves the stack alone within 0.05 mm", () => {
    const advice = adviseSpacing(makeTrain(), makeTest({ spacersMm: [1, 0.7] }))!;
    expect(advice.combination).toBeNull();
    expect(advice.sentence).toMatch(/nothing to add or remove/);
  });

  it("says which part is missing where the spacers at hand do not reach", () => {
    const few = adviseSpacing(makeTrain({ spacersOwnedMm: [] }))!;
    expect(few.combination).toBeNull();
    expect(few.sentence).toMatch(/a spacer of about 0.68 mm is needed/);
    const long = adviseSpacing(makeTrain({ spacersOwnedMm: [] }), makeTest({ spacersMm: [2] }))!;
    expect(long.sentence).toMatch(/too far away, and no choice/);
    const tall = makeTrain({ stack: [{ part: "tube", lengthMm: 40 }, { spacersMm: [0.5] }] });
    expect(adviseSpacing(tall)?.sentence).toMatch(
      /Use no spacer in place of 0.5 mm.*a shorter part is needed/,
    );
  });

  it("has nothing to say without a corrector", () => {
    expect(adviseSpacing(makeTrain({ corrector: null }))).toBeNull();
  });
});
