import { describe, expect, it } from "vitest";
import { separateTilt, type TiltTest } from "../../lib/field/tilt-sources.ts";
import { makeMeasured, type Quantity } from "../../lib/maths/quantity.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";

const half = 0.2;
const slope = (value: number): Quantity => makeMeasured(value, "um/mm", value - half, value + half, 300);

interface Truth {
  camera: [number, number];
  tube: [number, number];
  sag?: [number, number];
}

function makeTest(
  truth: Truth,
  angleDeg: number,
  altitudeDeg: number,
  noise: () => number = () => 0,
): TiltTest {
  const angle = (angleDeg * Math.PI) / 180;
  const pull = Math.cos((altitudeDeg * Math.PI) / 180);
  const [sx, sy] = truth.sag ?? [0, 0];
  // What stays with the tube appears turned back in the axes of a camera that was turned forward.
  const x = truth.camera[0] + truth.tube[0] * Math.cos(angle) + truth.tube[1] * Math.sin(angle) + sx * pull;
  const y = truth.camera[1] - truth.tube[0] * Math.sin(angle) + truth.tube[1] * Math.cos(angle) + sy * pull;
  const sigma = half / 1.96;
  return {
    test: `${angleDeg} ${altitudeDeg}`,
    cameraAngleDeg: angleDeg,
    altitudeDeg,
    tiltX: slope(x + sigma * noise()),
    tiltY: slope(y + sigma * noise()),
    signKnown: true,
    stack: "1",
  };
}

const truth: Truth = { camera: [0.75, -0.95], tube: [-0.4, 0.5] };

describe("separateTilt(tests, diagonalMm)", () => {
  it("parts (0.75, -0.95) of the camera and (-0.4, 0.5) um/mm of the tube from two angles 180 degrees apart", () => {
    const parts = separateTilt([makeTest(truth, 0, 60), makeTest(truth, 180, 62)], 28)!;
    expect(parts.camera!.x.value).toBeCloseTo(0.75, 9);
    expect(parts.camera!.y.value).toBeCloseTo(-0.95, 9);
    expect(parts.tube!.x.value).toBeCloseTo(-0.4, 9);
    expect(parts.tube!.y.value).toBeCloseTo(0.5, 9);
    expect(parts.sentence).toContain("turn with the camera");
  });

  it("does so from 0, 70 and 200 degrees, too", () => {
    const parts = separateTilt(
      [0, 70, 200].map((angle) => makeTest(truth, angle, 60)),
      28,
    )!;
    expect(parts.camera!.y.value).toBeCloseTo(-0.95, 9);
    expect(parts.tube!.x.value).toBeCloseTo(-0.4, 9);
  });

  it("holds the truth in 93 to 99 % of 1000 draws of three angles (seed 21)", () => {
    const noise = makeNormalRandom(makeRandom(21));
    let covered = 0;
    for (let k = 0; k < 1000; k++) {
      const { camera } = separateTilt(
        [0, 90, 180].map((angle) => makeTest(truth, angle, 60, noise)),
        28,
      )!;
      const x = camera!.x;
      if (x.value !== null && x.lo <= 0.75 && x.hi >= 0.75) covered++;
    }
    expect(covered / 1000).toBeGreaterThan(0.93);
    expect(covered / 1000).toBeLessThan(0.99);
  });

  it("cannot tell from one angle, nor from 20 degrees of turn, and says why", () => {
    const still = separateTilt([makeTest(truth, 0, 60), makeTest(truth, 0, 61)], 28)!;
    expect(still.camera).toBeNull();
    expect(still.rotationWhy).toContain("one camera angle");
    const little = separateTilt([makeTest(truth, 0, 60), makeTest(truth, 20, 60)], 28)!;
    expect(little.rotationWhy).toContain("20 degrees only");
  });

  it("tells a sag of 1 um/mm of cosine from a fixed tilt between 75 and 30 degrees of altitude", () => {
    const sagging: Truth = { ...truth, sag: [0, 1] };
    const parts = separateTilt(
      [75, 50, 30].map((altitude) => makeTest(sagging, 0, altitude)),
      28,
    )!;
    const change = Math.cos(Math.PI / 6) - Math.cos((75 * Math.PI) / 180);
    expect(parts.sag!.change.y.value).toBeCloseTo(change, 6);
    expect(parts.sentence).toContain("sags");
  });

  it("cannot tell sag from altitudes of 60 and 65 degrees", () => {
    const parts = separateTilt([makeTest(truth, 0, 60), makeTest(truth, 0, 65)], 28)!;
    expect(parts.sag).toBeNull();
    expect(parts.sagWhy).toContain("too close together");
  });

  it("puts no tests of different stacks together, nor such of unknown sign", () => {
    const other = { ...makeTest(truth, 180, 60), stack: "1.3" };
    expect(separateTilt([makeTest(truth, 0, 60), other], 28)).toBeNull();
    const blind = { ...makeTest(truth, 180, 60), signKnown: false };
    expect(separateTilt([makeTest(truth, 0, 60), blind], 28)).toBeNull();
  });
});
