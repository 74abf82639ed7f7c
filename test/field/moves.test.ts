import { describe, expect, it } from "vitest";
import { computeMoves, type MoveRequest } from "../../lib/field/moves.ts";
import { computeShims } from "../../lib/field/shims.ts";
import { makeMeasured, makeUnknown, type Quantity } from "../../lib/maths/quantity.ts";

const slope = (value: number, half = 0.05): Quantity =>
  makeMeasured(value, "um/mm", value - half, value + half, 400);
/** Over a diagonal of 43.27 mm, known to 2.2 um. */
const across = (gradient: number): Quantity =>
  makeMeasured(43.27 * gradient, "um", 43.27 * gradient - 2.2, 43.27 * gradient + 2.2, 400);
const three = [90, 210, 330].map((angleDeg) => ({ angleDeg, radiusMm: 35 }));

function ask(tiltX: number, tiltY: number, change: Partial<MoveRequest> = {}): MoveRequest {
  return {
    tilt: {
      tiltX: slope(tiltX),
      tiltY: slope(tiltY),
      across: across(Math.hypot(tiltX, tiltY)),
      signKnown: true,
      from: "sweep",
    },
    adjuster: { screws: three, pitchMm: 0.5 },
    sensor: { widthMm: 36, heightMm: 24 },
    allowedUm: undefined,
    focalRatio: 5.5,
    obstruction: 0,
    widthUm: 8,
    ...change,
  };
}

const readMoves = (request: MoveRequest) => computeMoves(request)!.screws.map(({ move }) => move.value!);

describe("computeMoves(request)", () => {
  // Plane geometry, h = R (tx cos a + ty sin a) at radius 35 mm; the correction is -h. Worked by hand, three cases.
  it.each([
    [2.7778, 0, [0, 84.2, -84.2], [0.168, 0.337, 0]],
    [0, 2.7778, [-97.22, 48.61, 48.61], [0, 0.292, 0.292]],
    [1.6667, -1.6667, [58.33, 21.35, -79.68], [0.276, 0.202, 0]],
  ])(
    "for a gradient of (%f, %f) um/mm moves the three screws by %j um, or opens them by %j turns",
    (x, y, moves, oneWay) => {
      const result = computeMoves(ask(x, y))!;
      result.screws.forEach(({ move }, k) => {
        expect(move.value).toBeCloseTo(moves[k], 1);
      });
      result.oneWay!.forEach((turns, k) => {
        expect(turns).toBeCloseTo(oneWay[k], 3);
      });
      expect(result.screws.reduce((sum, { move }) => sum + move.value!, 0)).toBeCloseTo(0, 6);
    },
  );

  it("levels the plane with four, five or seven screws anywhere: moves plus heights leave nothing", () => {
    for (const angles of [
      [45, 135, 225, 315],
      [10, 80, 150, 220, 290],
      [0, 50, 100, 160, 200, 260, 310],
    ]) {
      const screws = angles.map((angleDeg, k) => ({ angleDeg, radiusMm: 30 + k }));
      const request = ask(1.1, -0.7, { adjuster: { screws, pitchMm: 0.35 } });
      readMoves(request).forEach((move, k) => {
        const a = (screws[k].angleDeg * Math.PI) / 180;
        expect(move + screws[k].radiusMm * (1.1 * Math.cos(a) - 0.7 * Math.sin(a))).toBeCloseTo(0, 5);
      });
    }
  });

  it("turns with the frame: a gradient and screws turned by 77 degrees ask for the same moves", () => {
    const plain = readMoves(ask(0.9, 0.4));
    const turn = (77 * Math.PI) / 180;
    const turned = ask(
      0.9 * Math.cos(turn) - 0.4 * Math.sin(turn),
      0.9 * Math.sin(turn) + 0.4 * Math.cos(turn),
      {
        adjuster: {
          screws: three.map((screw) => ({ ...screw, angleDeg: screw.angleDeg + 77 })),
          pitchMm: 0.5,
        },
      },
    );
    readMoves(turned).forEach((move, k) => {
      expect(move).toBeCloseTo(plain[k], 5);
    });
  });

  it("leaves at most what half a step of 15 degrees can leave: below 22 um of 120 um at a pitch of 0.5 mm", () => {
    const result = computeMoves(ask(2, 1.9))!;
    expect(result.remainingTilt.value).toBeLessThan(22);
    for (const { setTurns } of result.screws) {
      expect(setTurns! * 24).toBeCloseTo(Math.round(setTurns! * 24), 4);
    }
  });

  it("names the corner where the focus lies nearest to the telescope, and says towards", () => {
    const result = computeMoves(ask(0.8, -0.8))!;
    expect(result.highCorner).toBe("lowerRight");
    expect(result.sentence).toContain("lower right");
  });

  it("advises to leave a tilt alone that is not told from none, or that the record allows", () => {
    expect(computeMoves(ask(0.02, 0.01))!.advice).toBe("leave");
    expect(computeMoves(ask(0.5, 0, { allowedUm: 40 }))!.advice).toBe("leave");
    expect(computeMoves(ask(1.5, 0, { allowedUm: 40 }))!.advice).toBe("turn");
  });

  it("takes out only the tilt along the line of two screws that lie opposite", () => {
    const adjuster = {
      screws: [
        { angleDeg: 0, radiusMm: 30 },
        { angleDeg: 180, radiusMm: 30 },
      ],
      pitchMm: 0.5,
    };
    const result = computeMoves(ask(1, 1, { adjuster }))!;
    expect(result.screws.map(({ move }) => move.value)).toEqual([-30, 30]);
    const rest = Math.hypot(36, 24);
    expect(result.remainingTilt.value).toBeGreaterThan(rest * 0.99);
    expect(result.sentence).toContain("only the tilt along it");
  });

  it("asks for no frame that tells the sign where 22 um are within the 40 um allowed on either side", () => {
    const request = ask(0.5, 0, { allowedUm: 40 });
    request.tilt.signKnown = false;
    const result = computeMoves(request)!;
    expect([result.advice, result.testOffset, result.highCorner]).toEqual(["leave", null, null]);
    expect(result.sentence).toContain("at most 24 um across the diagonal, whichever side is high");
    const wide = ask(1.5, 0, { allowedUm: 40 });
    wide.tilt.signKnown = false;
    expect(computeMoves(wide)!.advice).toBe("find sign");
  });

  it("says that less than 1 um is left where the moves are whole steps of 500 / 24 um, and never none", () => {
    const result = computeMoves(ask(0, (2 * 500) / 24 / 35))!;
    expect(result.remainingTilt.value).toBeCloseTo(0, 4);
    expect(result.sentence).toContain("the screws leave less than 1 um of tilt");
  });

  it("gives no moves where the sign is not known, but an offset that lets the middle's stars grow by two fifths", () => {
    const request = ask(1, 1);
    request.tilt.signKnown = false;
    const result = computeMoves(request)!;
    expect(result.screws.every(({ move }) => move.value === null)).toBe(true);
    // 4 N sigma sqrt(1.4^2 - 1) with sigma = 8 / 2.3548 um and N = 5.5: 73.2 um, rounded up to 5 um.
    expect(result.testOffset?.value).toBe(75);
    expect(result.sentence).toContain("75 um");
  });

  it("makes the offset at least twice the quarter-wave depth of focus: 220 um at f/10 with stars of 8 um", () => {
    const request = ask(1, 1, { focalRatio: 10, widthUm: 4 });
    request.tilt.signKnown = false;
    expect(computeMoves(request)!.testOffset?.value).toBe(220);
  });

  it("names shims of whole hundredths of a mm where there is no adjuster: none below zero, at most 10 um of tilt left", () => {
    const result = computeShims({ ...ask(1.1, -0.7), adjuster: null })!;
    const values = result.screws.map(({ move }) => move.value!);
    expect(Math.min(...values)).toBe(0);
    for (const value of values) expect(value % 10).toBe(0);
    expect(result.remainingTilt.value).toBeLessThan(15);
    expect(result.sentence).toContain("shims under the camera's flange");
  });

  it("lays shims of 20, 50 and 100 um, up to three on one another, at places on record: 3.0 um/mm to within 0.3", () => {
    const places = [45, 135, 225, 315].map((angleDeg) => ({ angleDeg, radiusMm: 30 }));
    const adjuster = { shims: places, thicknessesMm: [0.02, 0.05, 0.1] };
    const result = computeShims({ ...ask(2.4, -1.8), adjuster })!;
    const laid = result.shims!;
    for (const { thicknessUm, madeOfUm } of laid) {
      expect(madeOfUm.length).toBeLessThanOrEqual(3);
      expect(madeOfUm.reduce((sum, foil) => sum + foil, 0)).toBeCloseTo(thicknessUm, 6);
      for (const foil of madeOfUm) expect([20, 50, 100]).toContain(foil);
    }
    // Four places on a square: the plate's gradient is the mean of the differences across, over 2 R cos 45.
    const [a, b, c, d] = laid.map(({ thicknessUm }) => thicknessUm);
    const side = 2 * 30 * Math.SQRT1_2;
    expect(Math.abs((a + d - b - c) / (2 * side) + 2.4)).toBeLessThan(0.3);
    expect(Math.abs((a + b - c - d) / (2 * side) - 1.8)).toBeLessThan(0.3);
    expect(Math.min(...laid.map(({ thicknessUm }) => thicknessUm))).toBeGreaterThanOrEqual(0);
    expect(result.sentence).toContain("Lay shims under the flange");
    expect(result.sentence).not.toContain("no adjuster on record");
  });

  it("says so where the tilt is not determined", () => {
    const request = ask(1, 1);
    request.tilt.tiltX = makeUnknown("um/mm", "Too few stars.");
    expect(computeMoves(request)!.sentence).toContain("nothing to turn");
  });
});
