import { describe, expect, it } from "vitest";
import { type Circle, intersectCircles, overlapTwoCircles } from "../../lib/light/intersect-circles.ts";
import { computeCornerShare, computeLightShare } from "../../lib/light/light-path.ts";
import { findSmallestDiameter, replaceDiameter } from "../../lib/light/size-ring.ts";
import { makeRandom } from "../../lib/maths/random.ts";

describe("the area common to discs", () => {
  it("is 2 pi/3 - sqrt(3)/2 for two unit discs a radius apart, and 0.350767 for radii 1 and 0.5", () => {
    const unit = [
      { x: 0, y: 0, radius: 1 },
      { x: 1, y: 0, radius: 1 },
    ];
    expect(intersectCircles(unit)).toBeCloseTo((2 * Math.PI) / 3 - Math.sqrt(3) / 2, 12);
    expect(overlapTwoCircles(1, 1, 1)).toBeCloseTo(1.22837, 5);
    expect(overlapTwoCircles(1, 0.5, 1)).toBeCloseTo(0.350767, 6);
  });

  it("is the Reuleaux triangle's (pi - sqrt 3)/2 for three unit discs on each other's edges", () => {
    const discs = [0, 1, 2].map((k) => ({
      x: Math.cos((2 * Math.PI * k) / 3) / Math.sqrt(3),
      y: Math.sin((2 * Math.PI * k) / 3) / Math.sqrt(3),
      radius: 1,
    }));
    expect(intersectCircles(discs)).toBeCloseTo((Math.PI - Math.sqrt(3)) / 2, 12);
  });

  it("equals the analytic overlap of two circles within 1e-6 on 2,000 random pairs (seed 41)", () => {
    const random = makeRandom(41);
    for (let k = 0; k < 2000; k++) {
      const [a, b, d] = [0.1 + random() * 3, 0.1 + random() * 3, random() * 6];
      const angle = random() * 7;
      const pair = [
        { x: 0.3, y: -0.2, radius: a },
        { x: 0.3 + d * Math.cos(angle), y: -0.2 + d * Math.sin(angle), radius: b },
      ];
      expect(Math.abs(intersectCircles(pair) - overlapTwoCircles(a, b, d))).toBeLessThan(1e-6);
    }
  });

  it("is the smallest disc where it lies in all others, 0 where two are apart, and counts equal discs once", () => {
    const disc = (x: number, radius: number): Circle => ({ x, y: 0, radius });
    expect(intersectCircles([disc(0, 2), disc(0.1, 1), disc(0, 5)])).toBeCloseTo(Math.PI, 12);
    expect(intersectCircles([disc(0, 1), disc(3, 1), disc(1.5, 9)])).toBe(0);
    expect(intersectCircles([disc(0, 1), disc(0, 1), disc(0, 1)])).toBeCloseTo(Math.PI, 12);
    expect(intersectCircles([disc(0, 1), disc(0, 0)])).toBe(0);
  });
});

const telecentric = (focalRatio: number) => ({ focalRatio, obstruction: 0, exitPupilMm: null });
const ring = (clearDiameterMm: number, fromSensorMm: number, x = 0, y = 0) => ({
  part: "ring",
  clearDiameterMm,
  fromSensorMm,
  offsetMm: { x, y },
});

describe("the light that rings leave", () => {
  it("has the values of the worked table: rings of 44, 37 and 48 mm at f/5 and f/4 (computed with numpy)", () => {
    const at = (beam: Parameters<typeof computeLightShare>[0], a: ReturnType<typeof ring>, h: number) =>
      computeLightShare(beam, [a], { x: h, y: 0 });
    expect(at(telecentric(5), ring(44, 55), 18)).toBeCloseTo(0.908, 3);
    expect(at(telecentric(5), ring(44, 55), 21.63)).toBeCloseTo(0.516, 3);
    expect(at({ ...telecentric(5), exitPupilMm: 300 }, ring(44, 55), 21.63)).toBeCloseTo(0.936, 3);
    expect(at(telecentric(5), ring(37, 55), 18)).toBeCloseTo(0.526, 3);
    expect(at(telecentric(4), ring(48, 75), 21.63)).toBeCloseTo(0.6185, 4);
  });

  it("agrees within 0.1 % with 1,000,000 rays through four rings, obstruction and an exit pupil (seed 42)", () => {
    const random = makeRandom(42);
    const beam = { focalRatio: 5.5, obstruction: 0.35, exitPupilMm: 180 };
    const rings = [ring(25, 37, 0.6, -0.3), ring(24, 55, -0.5, 0.4), ring(26, 120), ring(27.5, 20, 0.2, 0.7)];
    for (const point of [
      { x: 11.7, y: 7.8 },
      { x: -13, y: 5 },
    ]) {
      let [passed, sent] = [0, 0];
      while (sent < 1_000_000) {
        const [u, v] = [2 * random() - 1, 2 * random() - 1];
        const rho = Math.hypot(u, v);
        if (rho > 1 || rho < beam.obstruction) continue;
        sent++;
        const through = rings.every(({ fromSensorMm: d, clearDiameterMm, offsetMm }) => {
          // From the point towards the ray's place in the pupil: diameter L / N at distance L.
          const share = d / beam.exitPupilMm;
          const half = beam.exitPupilMm / beam.focalRatio / 2;
          const x = point.x + (u * half - point.x) * share - offsetMm.x;
          const y = point.y + (v * half - point.y) * share - offsetMm.y;
          return x * x + y * y <= (clearDiameterMm / 2) ** 2;
        });
        if (through) passed++;
      }
      const share = computeLightShare(beam, rings, point);
      expect(share).toBeGreaterThan(0.2);
      expect(share).toBeLessThan(0.98);
      // Three standard errors of the count are 0.15 % at worst; the seed's own draw lies within 0.1 %.
      expect(Math.abs(share - passed / sent)).toBeLessThan(1e-3);
    }
  });

  it("is not the product of what each ring leaves: two equal rings one behind the other leave what one does", () => {
    const beam = telecentric(5);
    const one = computeLightShare(beam, [ring(30, 40)], { x: 14, y: 0 });
    expect(computeLightShare(beam, [ring(30, 40), ring(30, 40)], { x: 14, y: 0 })).toBeCloseTo(one, 12);
    expect(one).toBeLessThan(0.75);
  });

  it("mirrors with the ring's offset, and an aperture in the sensor's plane passes a point or does not", () => {
    const beam = telecentric(6);
    const left = computeLightShare(beam, [ring(30, 40, -1)], { x: 13, y: 3 });
    const right = computeLightShare(beam, [ring(30, 40, 1)], { x: -13, y: 3 });
    expect(left).toBeCloseTo(right, 12);
    expect(computeLightShare(beam, [ring(20, 0)], { x: 9.9, y: 0 })).toBe(1);
    expect(computeLightShare(beam, [ring(20, 0)], { x: 10.1, y: 0 })).toBe(0);
  });

  it("finds the smallest diameter that keeps a share, null where another ring forbids it", () => {
    const beam = telecentric(5.5);
    const sensor = { widthMm: 23.5, heightMm: 15.7 };
    const rings = [ring(50, 56), ring(29, 37)];
    const found = findSmallestDiameter(beam, rings, 1, 0.6, sensor) ?? Number.NaN;
    expect(computeCornerShare(beam, replaceDiameter(rings, 1, found), sensor)).toBeCloseTo(0.6, 6);
    expect(findSmallestDiameter(beam, [ring(28, 56), ring(29, 37)], 1, 0.9, sensor)).toBeNull();
  });
});
