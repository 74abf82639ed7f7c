import { describe, expect, it } from "vitest";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import { type Candidates, makeCandidates } from "../../lib/stars/candidates.ts";
import { findCandidates } from "../../lib/stars/detect.ts";
import { flagTrails } from "../../lib/stars/flag-trails.ts";
import { STAR_FLAGS } from "../../lib/stars/star-table.ts";
import { runInline } from "../../lib/stars/star-task.ts";
import { addStars, exposeFrame, makePlane, scatterStars } from "./draw-stars.ts";

const unknownCamera = { gainElectronsPerAdu: null, readNoiseElectrons: null, saturationAdu: null };

/** Candidates at random places; `alignedDeg` draws them all out in one direction, as bad tracking does. */
function scatterCandidates(
  seed: number,
  n: number,
  elongated: number,
  alignedDeg: number | null,
): Candidates {
  const uniform = makeRandom(seed);
  const candidates = makeCandidates(n);
  for (let i = 0; i < n; i++) {
    candidates.xPx[i] = uniform() * 6000;
    candidates.yPx[i] = uniform() * 4000;
    candidates.ridge[i] = uniform() < elongated ? 0.6 + 0.4 * uniform() : 0.6 * uniform();
    candidates.ridgeAngleDeg[i] =
      alignedDeg === null ? 180 * uniform() : (alignedDeg + 10 * (uniform() - 0.5) + 180) % 180;
  }
  return candidates;
}

/** A frame of stars crossed by a line of light with a Gaussian profile, which goes out once in `flickerPx` where that is not 0. */
function drawTrail(seed: number, brightness: number, angleDeg: number, fwhm = 3, flickerPx = 0) {
  const uniform = makeRandom(seed);
  const normal = makeNormalRandom(uniform);
  const [width, height] = [1200, 900];
  const image = new Float64Array(width * height).fill(300);
  const stars = scatterStars(300, uniform, width, height, 1500, 100000);
  addStars(image, width, height, stars, { kind: "moffat", fwhm, beta: 4 });
  const angle = (angleDeg * Math.PI) / 180;
  const [nx, ny] = [-Math.sin(angle), Math.cos(angle)];
  const off = (x: number, y: number) => (x - 610) * nx + (y - 440) * ny;
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const along = (x - 610) * ny - (y - 440) * nx;
      const light = flickerPx === 0 ? 1 : Math.sin((Math.PI * along) / flickerPx) ** 2;
      image[y * width + x] += light * brightness * Math.exp(-0.5 * (off(x, y) / (fwhm / 2.3548)) ** 2);
    }
  }
  return { plane: makePlane(exposeFrame(image, normal, 1, 4, 200), width, height), stars, off };
}

describe("trails of satellites and aeroplanes", () => {
  for (const [angleDeg, brightness] of [
    [0, 60],
    [17, 60],
    [90, 200],
    [133, 2000],
  ]) {
    it(`are found at ${angleDeg} degrees and ${brightness} ADU, with nothing accepted on them and no star away from them lost`, async () => {
      const { plane, off } = drawTrail(angleDeg + 3, brightness, angleDeg);
      const { candidates, warnings } = await findCandidates(plane, unknownCamera, runInline);
      expect(warnings.join()).toMatch(/satellite/);
      let onTrail = 0;
      let missed = 0;
      let lost = 0;
      for (let i = 0; i < candidates.xPx.length; i++) {
        const distance = Math.abs(off(candidates.xPx[i], candidates.yPx[i]));
        const flagged = (candidates.flags[i] & STAR_FLAGS.trail) !== 0;
        if (distance < 2) {
          onTrail++;
          if (!flagged) missed++;
        }
        if (distance > 12 && flagged) lost++;
      }
      expect(onTrail).toBeGreaterThan(10);
      expect(missed).toBeLessThanOrEqual(1);
      expect(lost).toBe(0);
    });
  }

  it("are counted as one crossing where the light goes out every 250 to 420 px, at 8 angles and widths of 2 to 4.5 px (seeds 41 to 48)", async () => {
    for (let k = 0; k < 8; k++) {
      const { plane } = drawTrail(41 + k, 150 + 60 * k, 11 + 22 * k, 2 + 0.35 * k, 250 + 24 * k);
      const { warnings } = await findCandidates(plane, unknownCamera, runInline);
      expect(warnings.join(), `seed ${41 + k}`).toMatch(/^A satellite or an aeroplane crossed/);
    }
  });

  it("are never seen in 100 sparse and 100 crowded fields of strangers (seeds 1 to 200)", () => {
    for (let seed = 1; seed <= 200; seed++) {
      const candidates = scatterCandidates(seed, seed <= 100 ? 800 : 8000, 0.05, null);
      expect(flagTrails(candidates, 6000, 4000, 3)).toEqual([]);
      expect(candidates.flags.some((flags) => flags !== 0)).toBe(false);
    }
  }, 60_000);

  it("are never seen where the mount has drawn every star out alike (seeds 1 to 30)", () => {
    for (let seed = 1; seed <= 30; seed++) {
      expect(flagTrails(scatterCandidates(seed, 600, 1, 6 * seed), 6000, 4000, 3)).toEqual([]);
    }
  }, 60_000);
});
