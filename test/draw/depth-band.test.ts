import { describe, expect, it } from "vitest";
import { traceDepthBand } from "../../lib/draw/depth-band.ts";
import { readSteps } from "./read-steps.ts";

const sensor = { widthMm: 24, heightMm: 16 };
/** A figure lays out about 18 units a millimetre. */
const unitsPerMm = 18;
const place = (x: number, y: number): [number, number] => [unitsPerMm * x, -unitsPerMm * y];

/** Area of a path of closed outlines in mm2, by the shoelace formula. */
function sumArea(path: string): number {
  return path
    .split("Z")
    .filter((outline) => outline !== "")
    .reduce((sum, outline) => {
      const points = readSteps(outline);
      const twice = points.reduce((all, [x, y], k) => {
        const [nextX, nextY] = points[(k + 1) % points.length];
        return all + x * nextY - nextX * y;
      }, 0);
      return sum + Math.abs(twice) / 2 / unitsPerMm ** 2;
    }, 0);
}

const area = (height: (x: number, y: number) => number, depthUm: number) =>
  sumArea(traceDepthBand({ height }, sensor, depthUm, place));

describe("traceDepthBand", () => {
  it("covers the whole sensor of 24 x 16 mm where all of it is in focus, and nothing where none is", () => {
    expect(area(() => 3, 17)).toBeCloseTo(384, 6);
    expect(area(() => 30, 17)).toBe(0);
  });

  // Closed forms: a stripe 2 d / t wide; a disc of radius sqrt(d / c); tolerance: coordinates are written to a tenth of a unit.
  it("covers a stripe 6.8 mm wide of a plane that rises by 5 um/mm with 17 um of depth", () => {
    expect(Math.abs(area((x) => 5 * x, 17) - 6.8 * 16)).toBeLessThan(0.2);
  });

  it("covers a disc of 6 mm radius of a bowl of 0.5 um/mm2 with 18 um of depth to 1 %", () => {
    const disc = area((x, y) => 0.5 * (x * x + y * y), 18);
    expect(Math.abs(disc / (Math.PI * 36) - 1)).toBeLessThan(0.01);
  });

  it("covers the ring of a bowl that is in focus at 5 to 7 mm, and is mirrored with it", () => {
    const ring = (x: number, y: number) => x * x + y * y - 37;
    expect(Math.abs(area(ring, 12) / (Math.PI * 24) - 1)).toBeLessThan(0.02);
    const slope = (x: number, y: number) => 4 * x + 3 * y - 10;
    expect(area(slope, 17)).toBeCloseTo(
      area((x, y) => slope(-x, y), 17),
      1,
    );
  });
});
