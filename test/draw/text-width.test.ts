import { describe, expect, it } from "vitest";
import { chooseRange, formatSigned, listTicks } from "../../lib/draw/scale.ts";
import { estimateTextWidth, fitText, spreadLabels } from "../../lib/draw/text-width.ts";
import { makeRandom } from "../../lib/maths/random.ts";

describe("spreadLabels(wanted, gap, from, to)", () => {
  it("leaves labels that stand clear where they are", () => {
    expect(spreadLabels([10, 50, 90], 20, 0, 100)).toEqual([10, 50, 90]);
  });

  it("parts two labels at 50 evenly to 40 and 60 for a gap of 20", () => {
    expect(spreadLabels([50, 50], 20, 0, 100)).toEqual([40, 60]);
  });

  it("keeps gap, order and ends for 300 random sets (seed 7)", () => {
    const random = makeRandom(7);
    for (let run = 0; run < 300; run++) {
      const wanted = Array.from({ length: 1 + Math.floor(random() * 12) }, () => random() * 480);
      const placed = spreadLabels(wanted, 22, 12, 468);
      const pairs = wanted.map((at, k) => [at, placed[k]]).sort((a, b) => a[1] - b[1]);
      for (const [k, [at, place]] of pairs.entries()) {
        expect(place).toBeGreaterThanOrEqual(12 - 1e-9);
        expect(place).toBeLessThanOrEqual(468 + 1e-9);
        if (k > 0) {
          expect(place - pairs[k - 1][1]).toBeGreaterThanOrEqual(22 - 1e-9);
          expect(at).toBeGreaterThanOrEqual(pairs[k - 1][0]);
        }
      }
    }
  });
});

describe("fitText(text, room)", () => {
  it("cuts 300 letters to the room with an ellipsis and leaves short text whole", () => {
    const cut = fitText("m".repeat(300), 200);
    expect(cut.endsWith("…")).toBe(true);
    expect(estimateTextWidth(cut)).toBeLessThanOrEqual(200);
    expect(fitText("M54 ring", 200)).toBe("M54 ring");
  });
});

describe("listTicks(from, to)", () => {
  it("gives -10 to 10 in steps of 5 with true minus signs", () => {
    expect(listTicks(-11.7, 11.7, 5).map(({ label }) => label)).toEqual(["−10", "−5", "0", "5", "10"]);
  });

  it("gives 0.1 steps one decimal", () => {
    expect(listTicks(0, 0.4, 4).map(({ label }) => label)).toEqual(["0.0", "0.1", "0.2", "0.3", "0.4"]);
  });

  it("stays finite for a single value, for none and for a zero span", () => {
    expect(chooseRange([5])[0]).toBeLessThan(5);
    expect(chooseRange([])).toEqual([0, 1]);
    expect(chooseRange([0, 0])[0]).toBeLessThan(0);
    expect(formatSigned(-0.001, 2)).toBe("0.00");
  });
});
