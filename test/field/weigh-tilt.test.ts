import { describe, expect, it } from "vitest";
import { TERM, TERMS } from "../../lib/field/field-model.ts";
import type { OrientedFields } from "../../lib/field/orient-fields.ts";
import { type SweptTilt, weighTilt as weigh } from "../../lib/field/weigh-tilt.ts";
import { makeMeasured, makeUnknown } from "../../lib/maths/quantity.ts";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";

/** Frames that find a tilt (um/mm) to one sigma of `error`; 400 draws. */
function makeFrames(x: number, y: number, error: number, signKnown = true): OrientedFields {
  const normal = makeNormalRandom(makeRandom(6));
  const make = (dx: number, dy: number): Float64Array => {
    const field = new Float64Array(TERMS + 4);
    field[TERM.tiltX] = x + dx;
    field[TERM.tiltY] = y + dy;
    return field;
  };
  const draws = Array.from({ length: 400 }, () => make(error * normal(), error * normal()));
  return { best: make(0, 0), draws, signKnown, why: "", rule: null };
}

function makeSweep(x: number, y: number, error: number) {
  const state = (value: number) =>
    makeMeasured(value, "um/mm", value - 1.96 * error, value + 1.96 * error, 9);
  return { tiltX: state(x), tiltY: state(y) };
}

const weighTilt = (frames: OrientedFields, sweep: SweptTilt, seed: number, mattersUmPerMm = 0) =>
  weigh(frames, sweep, { seed, mattersUmPerMm });

describe("weighTilt(oriented, sweep, options)", () => {
  it("lets the sweep rule where it knows the tilt to 0.05 um/mm and the frames to 0.3", () => {
    const weighed = weighTilt(makeFrames(1.2, 0.4, 0.3), makeSweep(1, 0.5, 0.05), 1);
    expect(weighed.from).toBe("sweep");
    expect(weighed.contradiction).toBeNull();
    const mean = weighed.draws.reduce((sum, [x]) => sum + x, 0) / weighed.draws.length;
    expect(Math.abs(mean - 1)).toBeLessThan(0.01);
  });

  it("lets the frames rule where the sweep is the vaguer one, or has no tilt", () => {
    expect(weighTilt(makeFrames(1, 0.4, 0.1), makeSweep(1, 0.5, 0.4), 1).from).toBe("frames");
    const none = { tiltX: makeUnknown("um/mm", "Too few."), tiltY: makeUnknown("um/mm", "Too few.") };
    expect(weighTilt(makeFrames(1, 0.4, 0.1), none, 1)).toMatchObject({ from: "frames", swept: null });
  });

  it("finds a contradiction at five joint errors, and none at two", () => {
    const [error, joint] = [0.1, Math.hypot(0.1, 0.1)];
    const at = (sigmas: number) =>
      weighTilt(makeFrames(1 + sigmas * joint, 0, error), makeSweep(1, 0, error), 1).contradiction;
    expect(at(5)?.differenceUmPerMm).toBeCloseTo(5 * joint, 6);
    expect(at(2)).toBeNull();
  });

  it("keeps silent on a difference too small to matter, however certain", () => {
    const [frames, sweep] = [makeFrames(1.5, 0, 0.05), makeSweep(1, 0, 0.05)];
    expect(weighTilt(frames, sweep, 1, 0.4).contradiction).not.toBeNull();
    expect(weighTilt(frames, sweep, 1, 0.6).contradiction).toBeNull();
  });

  it("compares frames without a sign with both signs", () => {
    expect(weighTilt(makeFrames(-1, 0, 0.1, false), makeSweep(1, 0, 0.1), 1).contradiction).toBeNull();
    expect(weighTilt(makeFrames(-1, 0, 0.1, true), makeSweep(1, 0, 0.1), 1).contradiction).not.toBeNull();
  });

  it("calls by chance a contradiction in 0.3 to 2 % of 1,000 pairs that agree", () => {
    const normal = makeNormalRandom(makeRandom(77));
    let called = 0;
    for (let k = 0; k < 1000; k++) {
      const frames = makeFrames(0.5 + 0.1 * normal(), 0.1 * normal(), 0.1);
      const sweep = makeSweep(0.5 + 0.2 * normal(), 0.2 * normal(), 0.2);
      if (weighTilt(frames, sweep, k).contradiction !== null) called++;
    }
    expect(called).toBeGreaterThanOrEqual(3);
    expect(called).toBeLessThanOrEqual(20);
  });
});
