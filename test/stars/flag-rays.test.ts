import { describe, expect, it } from "vitest";
import { makeRandom } from "../../lib/maths/random.ts";
import { type Candidates, makeCandidates } from "../../lib/stars/candidates.ts";
import { flagRays, isRay } from "../../lib/stars/flag-rays.ts";
import { STAR_FLAGS } from "../../lib/stars/star-table.ts";

const blob = { x: 500, y: 400, radiusPx: 6 };
const anglesDeg = [35, 125, 215, 305];

/** 600 stars at random places, a tenth of them drawn out by noise; with rays, knots every 12 px along four arms. */
function makeField(seed: number, withRays: boolean): { candidates: Candidates; knots: number } {
  const uniform = makeRandom(seed);
  const perArm = withRays ? 20 : 0;
  const candidates = makeCandidates(600 + 4 * perArm);
  for (let i = 0; i < 600; i++) {
    candidates.xPx[i] = 1000 * uniform();
    candidates.yPx[i] = 800 * uniform();
    candidates.ridge[i] = uniform() < 0.1 ? 0.5 : 0.2;
    candidates.ridgeAngleDeg[i] = 180 * uniform();
  }
  for (let k = 0; k < 4 * perArm; k++) {
    const angle = anglesDeg[k % 4];
    const distance = 20 + 12 * Math.floor(k / 4);
    candidates.xPx[600 + k] = blob.x + distance * Math.cos((angle * Math.PI) / 180) + 0.4 * (uniform() - 0.5);
    candidates.yPx[600 + k] = blob.y - distance * Math.sin((angle * Math.PI) / 180) + 0.4 * (uniform() - 0.5);
    candidates.ridge[600 + k] = 0.6;
    candidates.ridgeAngleDeg[600 + k] = (angle + 8 * (uniform() - 0.5) + 360) % 180;
  }
  return { candidates, knots: 4 * perArm };
}

describe("rays of saturated stars", () => {
  it("80 knots on the four arms of a diffraction spike are flagged, but for 3, and under 3 % of 600 stars with them (seed 1)", () => {
    const { candidates, knots } = makeField(1, true);
    flagRays(candidates, [blob], 3);
    const flagged = Array.from(candidates.flags, (flags) => (flags & STAR_FLAGS.trail) !== 0);
    expect(flagged.slice(600).filter(Boolean).length).toBeGreaterThanOrEqual(knots - 3);
    expect(flagged.slice(0, 600).filter(Boolean).length).toBeLessThan(18);
  });

  it("none is seen about a saturated star without any, in 100 fields (seeds 1 to 100)", () => {
    for (let seed = 1; seed <= 100; seed++) {
      const { candidates } = makeField(seed, false);
      flagRays(candidates, [blob], 3);
      expect(candidates.flags.filter((flags) => flags !== 0).length).toBe(0);
    }
  });

  it("a trail through a saturated star counts as its ray, one that passes 20 px beside it does not", () => {
    const trail = { cos: 0, sin: 1, distancePx: 400, fromPx: -900, toPx: -100, halfWidthPx: 6, pieces: 30 };
    expect(isRay(trail, [blob])).toBe(true);
    expect(isRay({ ...trail, distancePx: 420 }, [blob])).toBe(false);
  });
});
