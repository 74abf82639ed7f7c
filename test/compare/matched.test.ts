import { describe, expect, it } from "vitest";
import { makeMatchedKey } from "../../lib/commands/matched-store.ts";
import { computeAirShrinkage } from "../../lib/compare/air-share.ts";
import { decodeMatched, encodeMatched } from "../../lib/compare/matched-codec.ts";
import { MATCHED_FORMAT, type MatchedMeasurement } from "../../lib/compare/matched-measurement.ts";
import { divideQuantities, multiplyQuantities } from "../../lib/compare/quantity-sums.ts";
import { findPile } from "../../lib/compare/resample-frame.ts";
import { widenForResampling } from "../../lib/compare/resampling-error.ts";
import { makeExact, makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";
import type { ComparisonRecord, TestEntry, TrainEntry } from "../../lib/records/types.ts";
import { chooseComparedTests } from "../../lib/report/make-comparisons.ts";

const empty: MatchedMeasurement = {
  format: MATCHED_FORMAT,
  code: "c0de",
  key: "key",
  coarser: "b",
  finer: { train: "one", test: "2026-01-01" },
  onto: { train: "two", test: "2026-01-02" },
  pixelRatio: 1.2658,
  frames: [],
};

describe("the stored matched measurement", () => {
  it("reads back as it was written, and the same bytes come of it again", () => {
    const text = encodeMatched(empty);
    expect(decodeMatched(text)).toEqual(empty);
    expect(encodeMatched({ ...empty, frames: [] })).toBe(text);
  });

  it("is null for text that is cut short, of another format or of a ratio below 1", () => {
    const text = encodeMatched(empty);
    for (const bad of [
      text.slice(0, -5),
      text.replace("matched/1", "matched/2"),
      text.replace("1.2658", "0.5"),
      "[]",
    ])
      expect(decodeMatched(bad)).toBeNull();
  });

  it("has another key for other frames, ratio, gain, saturation, channel or code", () => {
    const parts = {
      sha256s: ["a", "b"],
      channel: "L",
      pixelRatio: 1.2658,
      gainElectronsPerAdu: 0.8,
      saturationAdu: 65535,
      code: "c",
    };
    const keys = [
      parts,
      { ...parts, sha256s: ["a"] },
      { ...parts, pixelRatio: 1.2659 },
      { ...parts, gainElectronsPerAdu: null },
      { ...parts, saturationAdu: null },
      { ...parts, channel: "G" },
      { ...parts, code: "d" },
    ].map(makeMatchedKey);
    expect(new Set(keys).size).toBe(keys.length);
    expect(makeMatchedKey({ ...parts })).toBe(keys[0]);
  });
});

describe("chooseComparedTests", () => {
  const test = (id: string, date: string) => ({ id, record: { date } }) as TestEntry;
  const [early, middle, late] = [test("b", "2026-01-01"), test("a", "2026-02-01"), test("c", "2026-03-01")];
  const trains = [
    { id: "one", tests: [late, early, middle] },
    { id: "two", tests: [] as TestEntry[] },
  ] as TrainEntry[];
  const choose = (a: ComparisonRecord["a"], b: ComparisonRecord["b"], measured = [early, middle, late]) =>
    chooseComparedTests({ name: "", a, b }, trains, (_, entry) => measured.includes(entry));

  it("takes the test that the record names, and without one the latest that was measured", () => {
    expect(choose({ train: "one", test: "b" }, { train: "one" })).toEqual({ a: early, b: late });
    expect(choose({ train: "one", test: "b" }, { train: "one" }, [middle])).toEqual({ a: early, b: middle });
  });

  it("never takes one test for both sides of a train", () => {
    expect(choose({ train: "one" }, { train: "one" })).toEqual({ a: middle, b: late });
    expect(choose({ train: "one" }, { train: "one", test: "c" })).toEqual({ a: middle, b: late });
  });

  it("takes the latest test where none was measured, and null for a train without tests", () => {
    expect(choose({ train: "one" }, { train: "two" }, [])).toEqual({ a: late, b: null });
  });
});

describe("small parts of a comparison", () => {
  it("adds relative intervals of a ratio in quadrature: 10 +- 3 % over 5 +- 4 % is 2 +- 5 %", () => {
    const [top, bottom] = [makeMeasured(10, "mm", 9.7, 10.3, 9, {}), makeMeasured(5, "mm", 4.8, 5.2, 4, {})];
    const ratio = divideQuantities(top, bottom, "ratio");
    expect(ratio).toMatchObject({ value: 2, n: 4 });
    if (ratio.value !== null)
      expect([ratio.lo, ratio.hi]).toEqual([expect.closeTo(1.9, 9), expect.closeTo(2.1, 9)]);
    expect(multiplyQuantities(top, makeExact(2, "ratio"), "mm")).toMatchObject({
      value: 20,
      lo: 19.4,
      hi: 20.6,
      n: 9,
    });
    expect(divideQuantities(top, makeUnknown("mm", "Not known."), "ratio")).toMatchObject({
      value: null,
      why: "Not known.",
    });
  });

  it("lets the air shrink a field by 0.028 % at the zenith and 0.070 % at 30 degrees of altitude", () => {
    expect(100 * computeAirShrinkage(90)).toBeCloseTo(0.028, 6);
    expect(100 * computeAirShrinkage(30)).toBeCloseTo(0.07, 6);
  });

  it("adds 0.2 % of a resampled width to its interval, in quadrature", () => {
    expect(widenForResampling(makeExact(3, "px"))).toMatchObject({ value: 3, lo: 3 - 0.006, hi: 3 + 0.006 });
    const wide = widenForResampling(makeMeasured(2, "px", 2 - 0.003, 2 + 0.003, 50));
    expect(wide.value === null ? 0 : wide.hi - 2).toBeCloseTo(0.005, 12);
  });

  it("takes for saturation a value that 20 samples share at the top, not a single peak", () => {
    const samples = new Uint16Array(1000).map((_, i) => i);
    expect(findPile(samples)).toBeNull();
    expect(findPile(samples.fill(4000, 100, 120))).toBe(4000);
  });
});
