import { describe, expect, it } from "vitest";
import {
  computeHalfDiagonalMm,
  computeRadialComponent,
  locateOnFrame,
  locateOnSensor,
  makeFullGeometry,
  nameZone,
} from "../../lib/field/geometry.ts";

const geometry = makeFullGeometry(6248, 4176, 3.76);

describe("places on the sensor", () => {
  it("puts the first pixel at the upper left: x negative, y positive, half a pixel inside the edge", () => {
    const { x, y } = locateOnSensor(geometry, 0, 0);
    expect(x).toBeCloseTo((-6248 / 2 + 0.5) * 0.00376, 12);
    expect(y).toBeCloseTo((4176 / 2 - 0.5) * 0.00376, 12);
  });

  it("comes back to the pixel it started from", () => {
    const { x, y } = locateOnSensor(geometry, 1234.5, 77.25);
    const back = locateOnFrame(geometry, x, y);
    expect(back.x).toBeCloseTo(1234.5, 9);
    expect(back.y).toBeCloseTo(77.25, 9);
  });

  it("has 14.13 mm of half-diagonal on 6248 x 4176 px of 3.76 um, binned 2 x 2 or not", () => {
    // sqrt(23.4925^2 + 15.7018^2) / 2
    expect(computeHalfDiagonalMm(geometry)).toBeCloseTo(14.1284, 3);
    expect(computeHalfDiagonalMm(makeFullGeometry(3124, 2088, 3.76, 2))).toBeCloseTo(14.1284, 3);
  });
});

describe("zones", () => {
  it("change at rho 0.25, 0.55 and 0.80", () => {
    expect(nameZone(0.2499, 1, 1)).toBe("centre");
    expect(nameZone(0.25, 1, 1)).toBe("middle");
    expect(nameZone(0.5499, 1, 1)).toBe("middle");
    expect(nameZone(0.55, 1, 1)).toBe("outer");
    expect(nameZone(0.8, 1, 1)).toBe("outer");
    expect(nameZone(0.8001, 1, 1)).toBe("upperRight");
  });

  it("name the corners as they are displayed", () => {
    expect(nameZone(0.9, -10, 7)).toBe("upperLeft");
    expect(nameZone(0.9, 10, -7)).toBe("lowerRight");
    expect(nameZone(0.9, -10, -7)).toBe("lowerLeft");
  });
});

describe("the radial component", () => {
  it("is plus the size where the long axis points away from the centre, minus it across", () => {
    const angle = Math.atan2(3, 4);
    const [e1, e2] = [0.2 * Math.cos(2 * angle), 0.2 * Math.sin(2 * angle)];
    expect(computeRadialComponent(e1, e2, 4, 3)).toBeCloseTo(0.2, 12);
    expect(computeRadialComponent(e1, e2, -4, -3)).toBeCloseTo(0.2, 12);
    expect(computeRadialComponent(e1, e2, -3, 4)).toBeCloseTo(-0.2, 12);
  });

  it("is zero at 45 degrees to the radius", () => {
    expect(computeRadialComponent(0, 0.2, 5, 0)).toBeCloseTo(0, 12);
  });

  it("stays the same when star and place are turned together by 37 degrees", () => {
    const turn = (37 * Math.PI) / 180;
    const before = computeRadialComponent(0.1, -0.07, 3, 1);
    const [x, y] = [3 * Math.cos(turn) - Math.sin(turn), 3 * Math.sin(turn) + Math.cos(turn)];
    const e1 = 0.1 * Math.cos(2 * turn) + 0.07 * Math.sin(2 * turn);
    const e2 = 0.1 * Math.sin(2 * turn) - 0.07 * Math.cos(2 * turn);
    expect(computeRadialComponent(e1, e2, x, y)).toBeCloseTo(before, 12);
  });
});
