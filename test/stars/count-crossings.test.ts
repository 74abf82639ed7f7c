import { describe, expect, it } from "vitest";
import { countCrossings } from "../../lib/stars/count-crossings.ts";
import type { Trail } from "../../lib/stars/flag-trails.ts";

/** A piece of the line at an angle and a distance from the origin, known to so many degrees. */
function makePiece(angleDeg: number, distancePx: number, fromPx: number, toPx: number): Trail {
  const angle = (angleDeg * Math.PI) / 180;
  return { cos: Math.cos(angle), sin: Math.sin(angle), distancePx, fromPx, toPx, halfWidthPx: 6, pieces: 9 };
}

describe("countCrossings", () => {
  it("counts four pieces of one line of 6000 px as one, in any order, their angles off by up to 0.1 degrees", () => {
    const pieces = [
      makePiece(30.1, 1500.4, -200, 200),
      makePiece(30, 1500, 400, 3400),
      makePiece(29.95, 1501, -900, -400),
      makePiece(30.02, 1498, -2600, -1200),
    ];
    // A piece's own line is exact in its middle: what an angle is off by moves its ends alone.
    const placed = pieces.map((piece) => {
      const middle = (piece.fromPx + piece.toPx) / 2;
      const x = 1500 * Math.cos(Math.PI / 6) - middle * Math.sin(Math.PI / 6);
      const y = 1500 * Math.sin(Math.PI / 6) + middle * Math.cos(Math.PI / 6);
      const half = (piece.toPx - piece.fromPx) / 2;
      const along = -x * piece.sin + y * piece.cos;
      return {
        ...piece,
        distancePx: x * piece.cos + y * piece.sin,
        fromPx: along - half,
        toPx: along + half,
      };
    });
    expect(countCrossings(placed)).toBe(1);
    expect(countCrossings([...placed].reverse())).toBe(1);
  });

  it("counts two lines that cross, and two alike 60 px apart, as two", () => {
    expect(countCrossings([makePiece(30, 1500, -900, 900), makePiece(75, 1500, -900, 900)])).toBe(2);
    expect(countCrossings([makePiece(30, 1500, -900, 900), makePiece(30, 1560, -900, 900)])).toBe(2);
  });

  it("counts none where there is none", () => {
    expect(countCrossings([])).toBe(0);
  });
});
