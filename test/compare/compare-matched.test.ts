import { describe, expect, it } from "vitest";
import { compareMatched } from "../../lib/compare/compare-matched.ts";
import type { ComparisonSide } from "../../lib/compare/comparison-side.ts";
import { MATCHED_FORMAT, type MatchedMeasurement } from "../../lib/compare/matched-measurement.ts";
import { gatherStars } from "../../lib/compare/side-stars.ts";
import { makeExact, makeUnknown } from "../../lib/maths/quantity.ts";
import { writeShape } from "../../lib/stars/average-stars.ts";
import { drawCommonSide } from "./common-sides.ts";

function addFrame(side: ComparisonSide, sha256: string): ComparisonSide {
  const measurement = { frames: [{ sha256, header: {}, channels: [{ channel: "L" }] }] };
  return { ...side, measurement: measurement as unknown as ComparisonSide["measurement"] };
}

/** 3 px at 805 mm against 2.5 px at 563.5 mm: B has the wider pixels on the sky, by 1 / 0.7. */
const fine = addFrame(drawCommonSide({ id: "fine", trueFocalLengthMm: 805, seed: 1 }), "aaaa");
const coarse = addFrame(
  drawCommonSide({ id: "coarse", trueFocalLengthMm: 563.5, factor: 0.7, fwhmPx: 2.5, seed: 2 }),
  "bbbb",
);
const ratio = makeExact(0.7, "ratio");

/** The finer side's only frame on the coarser grid: its stars 2.1 px wide there. */
function makeStored(changes: Partial<MatchedMeasurement> = {}): MatchedMeasurement {
  const pixelRatio = 1 / 0.7;
  const [table] = fine.tables;
  const stars = {
    ...table,
    xPx: table.xPx.map((x) => x / pixelRatio),
    yPx: table.yPx.map((y) => y / pixelRatio),
  };
  for (const name of ["fwhmMajorPx", "fwhmMinorPx", "e1", "e2", "angleDeg"] as const)
    stars[name] = table[name].slice();
  for (let row = 0; row < stars.xPx.length; row++) writeShape(stars, row, 2.1, 0, 0);
  const frame = { sha256: "aaaa", widthPx: 4340, heightPx: 2890, channels: [{ channel: "L", stars }] };
  return {
    format: MATCHED_FORMAT,
    code: "c0de",
    key: "key",
    coarser: "b",
    finer: { train: "fine", test: "2026-10-03" },
    onto: { train: "coarse", test: "2026-10-03" },
    pixelRatio,
    frames: [frame] as unknown as MatchedMeasurement["frames"],
    ...changes,
  };
}

function compare(a: ComparisonSide, b: ComparisonSide, stored: MatchedMeasurement | null, by = ratio) {
  return compareMatched({ a, b }, { a: gatherStars(a), b: gatherStars(b) }, stored, by);
}

describe("compareMatched", () => {
  it("sets 2.1 px of the resampled finer side against the coarser side's own 2.5 px, in px of the coarser grid", () => {
    const { matched } = compare(fine, coarse, makeStored());
    expect(matched?.coarser).toBe("b");
    const corner = matched?.zones.corner;
    expect(corner?.a.value).toBeCloseTo(2.1, 6);
    expect(corner?.b.value).toBeCloseTo(2.5, 1);
    expect(corner?.difference.value).toBeCloseTo((corner?.b.value ?? 0) - (corner?.a.value ?? 0), 6);
  });

  it("allows a single frame of either side 3 % of its width, one sigma, in the difference", () => {
    const difference = compare(fine, coarse, makeStored()).matched?.zones.corner.difference;
    if (difference?.value == null) throw new Error("no difference");
    const half = (difference.hi - difference.lo) / 2;
    const nights = 1.96 * 0.03 * Math.hypot(2.1, 2.5);
    expect(half).toBeGreaterThan(0.9 * nights);
    expect(half).toBeLessThan(1.5 * nights);
  });

  it("gives the mirrored differences with the sides exchanged", () => {
    const { matched } = compare(coarse, fine, makeStored({ coarser: "a" }), makeExact(1 / 0.7, "ratio"));
    expect(matched?.coarser).toBe("a");
    expect(matched?.zones.corner.difference.value).toBeCloseTo(-0.4, 1);
  });

  it("resamples nothing where both sample alike within 0.2 %", () => {
    const same = addFrame(drawCommonSide({ id: "same", trueFocalLengthMm: 805, seed: 3 }), "cccc");
    const { matched } = compare(fine, same, null, makeExact(1.001, "ratio"));
    expect(matched?.zones.centre.a.value).toBeCloseTo(3, 1);
  });

  it.each([
    ["another ratio", makeStored({ pixelRatio: 1.4 })],
    ["the other way round", makeStored({ coarser: "a" })],
    ["another test", makeStored({ finer: { train: "fine", test: "2026-10-04" } })],
    [
      "frames that the test no longer has",
      makeStored({ frames: makeStored().frames.map((f) => ({ ...f, sha256: "dddd" })) }),
    ],
    ["fewer frames than the test has", makeStored({ frames: [] })],
  ])("refuses what is stored of %s, and says how it is made again", (_, stored) => {
    const { matched, matchedWhy } = compare(fine, coarse, stored);
    expect(matched).toBeNull();
    expect(matchedWhy).toBe(
      "What is stored was resampled from other frames of fine/2026-10-03 (A) or to another ratio; npm run report makes it again with the frames at hand.",
    );
  });

  it("says which frames it needs where nothing is stored, which side has no stars, and that an unknown ratio compares nothing", () => {
    expect(compare(fine, coarse, null).matchedWhy).toMatch(
      /^The frames of fine\/2026-10-03 \(A\), which has the finer pixels, must be at hand once/,
    );
    const bare = { ...coarse, tables: [] };
    expect(compare(fine, bare, makeStored()).matchedWhy).toMatch(
      /^No star of coarse\/2026-10-03 \(B\) was measured/,
    );
    expect(compare(bare, fine, makeStored()).matchedWhy).toMatch(
      /^No star of coarse\/2026-10-03 \(A\) was measured/,
    );
    const unknown = makeUnknown("ratio", "The records do not give both focal lengths.");
    expect(
      compareMatched({ a: fine, b: coarse }, { a: gatherStars(fine), b: gatherStars(coarse) }, null, unknown)
        .matchedWhy,
    ).toMatch(/the ratio is not known/);
  });
});
