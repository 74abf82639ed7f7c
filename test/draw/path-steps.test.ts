import { describe, expect, it } from "vitest";
import { thinRun, traceDots, traceStrokes } from "../../lib/draw/path-steps.ts";
import { readSteps } from "./read-steps.ts";

const points = Array.from({ length: 200 }, (_, k): [number, number] => [
  240 + 200 * Math.sin(k),
  170 + 160 * Math.cos(1.7 * k) - (k % 3 === 0 ? 0.04 : 0),
]);

describe("traceDots(points)", () => {
  const isWithin = (from: readonly number[], to: readonly number[], distance: number) =>
    Math.hypot(from[0] - to[0], from[1] - to[1]) < distance;

  // A dot is left out only under another one 2.4 units wide; whole units put both off by 0.71 at most.
  it("draws a dot over each of 200 points, in whole units, and none where no point is", () => {
    const dots = readSteps(traceDots(points));
    for (const point of points) expect(dots.some((dot) => isWithin(dot, point, 2.4 + 0.78))).toBe(true);
    for (const dot of dots) expect(points.some((point) => isWithin(dot, point, 0.78))).toBe(true);
    expect(dots.flat().every((value) => Math.abs(value - Math.round(value)) < 1e-9)).toBe(true);
  });

  it("keeps all of 100 dots that stand 3 units apart, and of 100 that stand 1 unit apart every third", () => {
    const row = (step: number) => Array.from({ length: 100 }, (_, k): [number, number] => [step * k, 7]);
    expect(readSteps(traceDots(row(3)))).toHaveLength(100);
    expect(readSteps(traceDots(row(1)))).toHaveLength(34);
  });

  it("gives no path for no point, and the same path whatever the order", () => {
    expect(traceDots([])).toBe("");
    expect(traceDots([...points].reverse())).toBe(traceDots(points));
    expect(() => traceDots([[1, Number.NaN]])).toThrow(RangeError);
  });
});

describe("traceStrokes(strokes)", () => {
  it("keeps both ends of 100 strokes within 0.05 units, however many steps come before them", () => {
    const strokes = Array.from({ length: 100 }, (_, k) => {
      const [[x1, y1], [x2, y2]] = [points[2 * k], points[2 * k + 1]];
      return { x1, y1, x2, y2 };
    });
    const ends = readSteps(traceStrokes(strokes));
    expect(ends).toHaveLength(200);
    const isNear = ([x, y]: [number, number], px: number, py: number) =>
      Math.max(Math.abs(x - px), Math.abs(y - py)) < 0.0501;
    for (const { x1, y1, x2, y2 } of strokes) {
      const at = ends.findIndex(
        (end, k) => k % 2 === 0 && isNear(end, x1, y1) && isNear(ends[k + 1], x2, y2),
      );
      expect(at).toBeGreaterThanOrEqual(0);
    }
  });
});

describe("thinRun(points, tolerance)", () => {
  const arc = Array.from({ length: 181 }, (_, k): [number, number] => {
    const angle = (k * Math.PI) / 180;
    return [100 * Math.cos(angle), 100 * Math.sin(angle)];
  });

  it("keeps the two ends of a straight run of 50 points, and a corner in it", () => {
    const straight = Array.from({ length: 50 }, (_, k): [number, number] => [k, 2 * k]);
    expect(thinRun(straight)).toEqual([straight[0], straight[49]]);
    const bent = [...straight, [60, 0] as [number, number]];
    expect(thinRun(bent)).toEqual([straight[0], straight[49], [60, 0]]);
  });

  // Sagitta s of a chord over an angle a: s = r (1 - cos(a / 2)); 0.1 of 100 allows 5.1 degrees, so at least 36 chords.
  it("draws half a circle of radius 100 with 36 to 73 chords, none more than 0.1 beside it", () => {
    const kept = thinRun(arc, 0.1);
    expect(kept.length - 1).toBeGreaterThanOrEqual(35);
    expect(kept.length - 1).toBeLessThanOrEqual(73);
    for (let k = 1; k < kept.length; k++) {
      const middle = Math.hypot((kept[k - 1][0] + kept[k][0]) / 2, (kept[k - 1][1] + kept[k][1]) / 2);
      expect(100 - middle).toBeLessThan(0.101);
    }
  });

  it("keeps a closed run of three points and gives back runs of fewer than three as they are", () => {
    expect(
      thinRun([
        [0, 0],
        [5, 5],
        [0, 0],
      ]),
    ).toEqual([
      [0, 0],
      [5, 5],
      [0, 0],
    ]);
    expect(thinRun([[1, 2]])).toEqual([[1, 2]]);
  });
});
