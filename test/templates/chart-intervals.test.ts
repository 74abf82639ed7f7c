import { describe, expect, it } from "vitest";
import { formatReading, spanIntervals } from "../../templates/script/chart-intervals.ts";

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

describe("spanIntervals", () => {
  it("reaches from the lowest to the highest end, 8.392 to 12.42, and is null without intervals", () => {
    expect(spanIntervals([series, plain])).toEqual([8.392, 12.42]);
    expect(spanIntervals([])).toBeNull();
  });
});
