import { describe, expect, it } from "vitest";
import { makeNormalRandom, makeRandom, type Random } from "../../lib/maths/random.ts";
import { findCandidates } from "../../lib/stars/detect.ts";
import { FWHM_PER_SIGMA } from "../../lib/stars/matched-filter.ts";
import { findLightSigma, sharePixel } from "../../lib/stars/pixel-light.ts";
import type { SamplePlane } from "../../lib/stars/samples.ts";
import { listSharpnessBounds } from "../../lib/stars/sharp-pixel.ts";
import { STAR_FLAGS } from "../../lib/stars/star-table.ts";
import { runInline } from "../../lib/stars/star-task.ts";
import { addStars, exposeFrame, makePlane, type StarShape, scatterStars } from "./draw-stars.ts";

const camera = { gainElectronsPerAdu: null, readNoiseElectrons: null, saturationAdu: null };
const sigma = Math.sqrt(400 + 25);
const sites: Record<string, SamplePlane["sites"]> = {
  L: [true, true, true, true],
  G: [false, true, true, false],
  R: [true, false, false, false],
};

interface Spot {
  x: number;
  y: number;
}

/** Hot pixels, some with warm or lit neighbours, from 6 sigma to 1,800 sigma. */
function addHotPixels(
  samples: Uint16Array,
  width: number,
  height: number,
  n: number,
  uniform: Random,
): Spot[] {
  const add = (x: number, y: number, value: number) => {
    if (x < 0 || y < 0 || x >= width || y >= height) return;
    samples[y * width + x] = Math.min(65535, samples[y * width + x] + Math.round(value));
  };
  return Array.from({ length: n }, (_, k) => {
    const [x, y] = [Math.floor(uniform() * width), Math.floor(uniform() * height)];
    const value = sigma * 6 * 300 ** uniform();
    add(x, y, value);
    if (k % 4 === 0)
      for (const [dx, dy] of [
        [1, 0],
        [-1, 0],
        [0, 1],
        [0, -1],
      ])
        add(x + dx, y + dy, 0.05 * value);
    if (k % 4 === 1) add(x + 1, y, value * uniform());
    return { x, y };
  });
}

/** Straight tracks of cosmic rays, 1 to 9 px long, even charge along them, no blur. */
function addTracks(samples: Uint16Array, width: number, height: number, n: number, uniform: Random): Spot[] {
  return Array.from({ length: n }, () => {
    const [x, y, angle, length] = [
      uniform() * width,
      uniform() * height,
      2 * Math.PI * uniform(),
      1 + 8 * uniform(),
    ];
    const perPx = sigma * 10 * 100 ** uniform();
    const steps = Math.ceil(40 * length);
    const lit = new Map<number, number>();
    for (let k = 0; k < steps; k++) {
      const column = Math.round(x + (Math.cos(angle) * length * k) / steps);
      const row = Math.round(y + (Math.sin(angle) * length * k) / steps);
      if (column < 0 || row < 0 || column >= width || row >= height) continue;
      const at = row * width + column;
      lit.set(at, (lit.get(at) ?? 0) + (perPx * length) / steps);
    }
    for (const [at, value] of lit) samples[at] = Math.min(65535, Math.round(samples[at] + value));
    return { x: x + (Math.cos(angle) * length) / 2, y: y + (Math.sin(angle) * length) / 2 };
  });
}

/** Stars of S/N 8 to 2,000 among spikes; what became of both. */
async function judge(channel: string, shape: StarShape, nSpikes: number, seed: number) {
  const uniform = makeRandom(seed);
  const [width, height] = [1200, 1000];
  const image = new Float64Array(width * height).fill(400);
  const density = sites[channel].filter(Boolean).length / 4;
  const s = Math.hypot(shape.fwhm / FWHM_PER_SIGMA, Math.sqrt(1 / 12));
  const unit = (sigma * Math.sqrt(4 * Math.PI) * s) / Math.sqrt(density);
  const stars = scatterStars(900, uniform, width, height, 8 * unit, 2000 * unit);
  addStars(image, width, height, stars, shape);
  const samples = exposeFrame(image, makeNormalRandom(uniform), 1, 5, 500);
  const spots = [
    ...addHotPixels(samples, width, height, nSpikes, uniform),
    ...addTracks(samples, width, height, 0.4 * nSpikes, uniform),
  ];
  const { candidates } = await findCandidates(
    makePlane(samples, width, height, sites[channel]),
    camera,
    runInline,
  );
  const reach = Math.max(2, 0.7 * shape.fwhm);
  const distanceTo = (places: Spot[], i: number) =>
    places.reduce(
      (d, { x, y }) => Math.min(d, Math.hypot(x - candidates.xPx[i], y - candidates.yPx[i])),
      1e9,
    );
  const counts = { stars: 0, starsFlagged: 0, accepted: 0, acceptedFalse: 0 };
  for (let i = 0; i < candidates.xPx.length; i++) {
    const spike = (candidates.flags[i] & STAR_FLAGS.spike) !== 0;
    const isStar = distanceTo(stars, i) < reach;
    if (isStar && candidates.snr[i] >= 10 && distanceTo(spots, i) > 6 + 2 * shape.fwhm) {
      counts.stars++;
      if (spike) counts.starsFlagged++;
    }
    if (!spike && (candidates.flags[i] & STAR_FLAGS.saturated) === 0) {
      counts.accepted++;
      if (!isStar) counts.acceptedFalse++;
    }
  }
  return counts;
}

describe("the bounds on sharpness", () => {
  it("are never breached by pixel-integrated Gaussian stars of the given width or wider, at any place within a pixel", () => {
    for (const [name, pattern] of Object.entries(sites)) {
      for (const fwhm of [1.3, 2, 3.5]) {
        const bounds = listSharpnessBounds(pattern, fwhm);
        for (const wider of [1, 1.2, 2]) {
          const width = findLightSigma(wider * fwhm);
          for (let cx = -0.5; cx <= 0.5; cx += 0.1) {
            for (let cy = -0.5; cy <= 0.5; cy += 0.1) {
              const light = (at: (typeof bounds)[number]["inner"]) =>
                at.reduce((sum, [x, y]) => sum + sharePixel(x - cx, width) * sharePixel(y - cy, width), 0);
              for (const { inner, outer, least } of bounds) {
                expect(least * light(inner), `${name} ${fwhm}`).toBeLessThanOrEqual(light(outer) * 1.002);
              }
            }
          }
        }
      }
    }
  });
});

describe("spikes", () => {
  for (const [fwhm, kind] of [
    [2, "gaussian"],
    [2.5, "moffat"],
    [4, "moffat"],
  ] as const) {
    it(`in a frame of ${kind} stars of FWHM ${fwhm} px with as many hot pixels and tracks as stars: under 0.5 % of what is accepted is false, under 0.5 % of stars of S/N 10 are lost (seed 81)`, async () => {
      const counts = await judge("L", { kind, fwhm, beta: 4 }, 650, 81);
      expect(counts.stars).toBeGreaterThan(400);
      expect(counts.starsFlagged / counts.stars).toBeLessThan(0.005);
      expect(counts.acceptedFalse / counts.accepted).toBeLessThan(0.005);
    }, 60_000);
  }

  it("at FWHM 1.3 px (1.5 px as sampled) stars and faint spikes differ little: 2 % false, still under 0.5 % of stars lost (seed 82)", async () => {
    const counts = await judge("L", { kind: "moffat", fwhm: 1.3, beta: 4 }, 650, 82);
    expect(counts.starsFlagged / counts.stars).toBeLessThan(0.005);
    expect(counts.acceptedFalse / counts.accepted).toBeLessThan(0.02);
  }, 60_000);

  for (const channel of ["G", "R"]) {
    it(`among the ${channel} sites of a filter array at FWHM 3 px: under 0.5 % of stars lost, under 4 % false (warm neighbours of a hot pixel of another colour look round) (seed 83)`, async () => {
      const counts = await judge(channel, { kind: "moffat", fwhm: 3, beta: 4 }, 650, 83);
      expect(counts.starsFlagged / counts.stars).toBeLessThan(0.005);
      expect(counts.acceptedFalse / counts.accepted).toBeLessThan(0.04);
    }, 60_000);
  }

  it("are not seen among stars alone: crowded, drawn out 2 : 1, and a third sharper in the middle than elsewhere (seed 84)", async () => {
    const [width, height] = [900, 800];
    const shapes: ((x: number) => StarShape)[] = [
      () => ({ kind: "moffat", fwhm: 2.2, beta: 3 }),
      () => ({ kind: "gaussian", fwhm: 3, axisRatio: 0.5, angleDeg: 30 }),
      (x) => ({ kind: "gaussian", fwhm: x < 300 ? 2.4 : 3.2 }),
    ];
    for (const shape of shapes) {
      const uniform = makeRandom(84);
      const image = new Float64Array(width * height).fill(400);
      addStars(image, width, height, scatterStars(2500, uniform, width, height, 1500, 200000), (star) =>
        shape(star.x),
      );
      const samples = exposeFrame(image, makeNormalRandom(uniform), 1, 5, 500);
      const { candidates } = await findCandidates(makePlane(samples, width, height), camera, runInline);
      const strong = Array.from(candidates.flags.keys()).filter((i) => candidates.snr[i] >= 10);
      const flagged = strong.filter((i) => (candidates.flags[i] & STAR_FLAGS.spike) !== 0);
      expect(strong.length).toBeGreaterThan(1200);
      expect(flagged.length / strong.length).toBeLessThan(0.005);
    }
  }, 60_000);
});
