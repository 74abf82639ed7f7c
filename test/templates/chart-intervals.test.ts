import { describe, expect, it } from "vitest";
import { formatReading, setMinus, spanIntervals } from "../../templates/script/chart-intervals.ts";

const series = {
  label: "3 October 2026",
  slot: "series-1",
  line: false,
  points: [
    [0, 11.17],
    [1, 8.4913],
  ] as [number, number][],
  intervals: [
    [9.928, 12.42],
    [8.392, 8.591],
  ] as [number, number][],
};

const { intervals: _, ...plain } = series;

describe("formatReading", () => {
  it("prints value and interval to what the interval bears: 11.17 of 9.928 to 12.42 is 11.2 (9.9 to 12.4)", () => {
    expect(formatReading(series, 0, "µm")).toBe("11.2 µm (95 %: 9.9 to 12.4)");
    expect(formatReading(series, 1, "µm")).toBe("8.49 µm (95 %: 8.39 to 8.59)");
  });

  it("leaves a value without an interval as it is", () => {
    expect(formatReading(plain, 0, "")).toBe("11.17");
  });
});

describe("setMinus", () => {
  it("sets true minus signs before numbers, and leaves hyphens within words and dates", () => {
    expect(setMinus("-0.27 to -0.19 (-1) half-width 2026-10-03")).toBe(
      "−0.27 to −0.19 (−1) half-width 2026-10-03",
    );
  });
});

describe("spanIntervals", () => {
  it("reaches from the lowest to the highest end, 8.392 to 12.42, and is null without intervals", () => {
    expect(spanIntervals([series, plain])).toEqual({
      lo: 8.392,
      hi: 12.42,
      isWhole: true,
    });
    expect(spanIntervals([])).toBeNull();
  });

  it("leaves 2 strays of 1,000 single stars out, and no median", () => {
    const points = Array.from({ length: 1000 }, (_, k): [number, number] => [k / 100, 8 + (k % 100) / 100]);
    points[3][1] = 40;
    points[4][1] = 0.1;
    const stars = { label: "single stars", slot: "stars", line: false, points };
    expect(spanIntervals([stars, plain])).toEqual({ lo: 8, hi: 11.17, isWhole: false });
  });
});
