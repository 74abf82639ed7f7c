import { describe, expect, it } from "vitest";
import { makeExact, makeMeasured } from "../../lib/maths/quantity.ts";
import type { TestResults } from "../../lib/report/results.ts";
import { compareNights, listSteps, makeChangeSection } from "../../lib/site/change-section.ts";
import { makeSampleResults } from "../fixtures/sample-results.ts";

const [train] = makeSampleResults();
const [first] = train.tests;

function vary(record: Partial<TestResults["record"]>, more: Partial<TestResults> = {}): TestResults {
  return { ...first, ...more, id: "later", date: "2026-10-09", record: { ...first.record, ...record } };
}

const known = (value: number, half: number) => {
  const quantity = makeMeasured(value, "px", value - half, value + half, 9);
  if (quantity.value === null) throw new Error("known");
  return quantity;
};

describe("compareNights", () => {
  // Half-widths 3 and 4 add in quadrature to 5.
  it.each([
    [10, 3, 15, 4, "no clear change"],
    [10, 3, 15.1, 4, "larger"],
    [15.1, 4, 10, 3, "smaller"],
    [2, 0, 2, 0, "the same"],
    [2, 0, 1, 0, "smaller"],
  ])("tells %f (+-%f) then %f (+-%f) as %s", (old, oldHalf, now, nowHalf, words) => {
    expect(compareNights(known(old, oldHalf), known(now, nowHalf))).toBe(words);
  });
});

describe("makeChangeSection", () => {
  const before = vary({ spacersMm: [1], filter: "clear", cameraAngleDeg: 350, altitudeDeg: 60 });

  it("says how much longer the spacers are, which filter is in and how far the camera was turned", () => {
    const now = vary({ spacersMm: [1, 0.3], filter: "Ha", cameraAngleDeg: 170, altitudeDeg: 40 });
    const { sentence } = makeChangeSection({ ...before, date: "2026-10-03" }, now);
    expect(sentence.replaceAll("\u00a0", " ")).toBe(
      "Changed since the test of 3 October 2026: the spacers, 0.3 mm more (1 mm before, 1 mm + 0.3 mm now); the filter, Ha for clear; the camera, turned by 180°; the altitude, 20° lower.",
    );
  });

  it("takes a turn from 350 to 10 degrees for 20 degrees", () => {
    expect(makeChangeSection(before, vary({ ...before.record, cameraAngleDeg: 10 })).sentence).toContain(
      "the camera, turned by 20°.",
    );
  });

  it("says that nothing was changed where nothing was, or nothing is on record", () => {
    expect(makeChangeSection(before, before).sentence).toContain("Nothing was changed on record");
    const silent = vary({ spacersMm: null, filter: null, cameraAngleDeg: null, altitudeDeg: null });
    expect(makeChangeSection(silent, before).sentence).toContain("Nothing was changed on record");
  });

  it("sets what both nights measured side by side, values and verdict in the CSV too", () => {
    const { table } = makeChangeSection(
      { ...before, spacingError: makeExact(-0.68, "mm") },
      vary({}, { spacingError: makeExact(0.12, "mm") }),
    );
    expect(table?.rows[0].map(({ text }) => text.replaceAll("\u00a0", " "))).toEqual([
      "Spacing error",
      "−0.68 mm",
      "+0.12 mm",
      "of the other sign",
    ]);
    expect(table?.csv.rows[0].slice(0, 3)).toEqual(["spacing_error", "mm", -0.68]);
    expect(table?.csv.rows[0].at(-1)).toBe("of the other sign");
  });

  it.each([
    [-0.68, -0.38, "nearer zero"],
    [0.42, 0.82, "farther from zero"],
    [0.12, 0.12, "the same"],
  ])("tells a spacing error of %f mm that becomes %f mm as %s", (old, fresh, words) => {
    const { table } = makeChangeSection(
      { ...before, spacingError: makeExact(old, "mm") },
      vary({}, { spacingError: makeExact(fresh, "mm") }),
    );
    expect(table?.rows[0].at(-1)?.text).toBe(words);
  });

  it("leaves the table out where the nights share no number", () => {
    const bare = { spacingError: null, zones: null, contrasts: null, field: null, sweep: null };
    expect(makeChangeSection(vary({}, bare), before).table).toBeNull();
  });
});

describe("listSteps", () => {
  it("leads to the test before and the one after, and nowhere at the ends", () => {
    const tests = ["a", "b", "c"].map((id) => ({ ...first, id }));
    expect(listSteps(tests, 0)).toMatchObject({ earlier: null, later: { href: "#test-b" } });
    expect(listSteps(tests, 2)).toMatchObject({ earlier: { href: "#test-b" }, later: null });
  });
});
