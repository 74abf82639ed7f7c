import { describe, expect, it } from "vitest";
import { makeNormalRandom, makeRandom } from "../../lib/maths/random.ts";
import { CANDIDATE_COLUMNS, type Candidates, joinCandidates } from "../../lib/stars/candidates.ts";
import { type DetectBand, detectBandTask, findCandidates } from "../../lib/stars/detect.ts";
import { chooseThreshold } from "../../lib/stars/detection-threshold.ts";
import { makeFilteredRows } from "../../lib/stars/filtered-rows.ts";
import { planFilterGrid } from "../../lib/stars/matched-filter.ts";
import type { MeshMap } from "../../lib/stars/plane-measurement.ts";
import type { SamplePlane } from "../../lib/stars/samples.ts";
import { STAR_FLAGS } from "../../lib/stars/star-table.ts";
import { runInline } from "../../lib/stars/star-task.ts";
import {
  addStars,
  type DrawnStar,
  exposeFrame,
  makePlane,
  type StarShape,
  scatterStars,
} from "./draw-stars.ts";
import { filterPlainly, findPlainMaxima } from "./filter-plainly.ts";

const unknownCamera = { gainElectronsPerAdu: null, readNoiseElectrons: null, saturationAdu: null };
const even = (value: number): MeshMap => ({
  columns: 1,
  rows: 1,
  cellPx: 64,
  values: Float32Array.of(value),
});
const sky = 600;
const sigma = Math.sqrt(400 + 25);

const channels: Record<string, SamplePlane["sites"]> = {
  L: [true, true, true, true],
  R: [true, false, false, false],
  G: [false, true, true, false],
};

/** Stars on a sky of 400 ADU over a bias of 200 ADU, 1 e-/ADU, read noise 5 e-: noise 20.6 ADU a pixel. */
function drawFrame(seed: number, width: number, height: number, stars: DrawnStar[], shape: StarShape) {
  const image = new Float64Array(width * height).fill(400);
  addStars(image, width, height, stars, shape);
  return exposeFrame(image, makeNormalRandom(makeRandom(seed)), 1, 5, 200);
}

function drawField(
  seed: number,
  fwhm: number,
  kind: StarShape["kind"] = "gaussian",
  n = 120,
  low = 2000,
  high = 200000,
) {
  const [width, height] = [500, 400];
  const stars = scatterStars(n, makeRandom(seed + 1000), width, height, low, high);
  return { width, height, stars, samples: drawFrame(seed, width, height, stars, { kind, fwhm, beta: 4 }) };
}

function makeJob(plane: SamplePlane, fwhmPx: number, more: Partial<DetectBand> = {}): DetectBand {
  return {
    plane,
    background: even(sky),
    noise: even(sigma),
    fwhmPx,
    threshold: 5.5,
    gainElectronsPerAdu: null,
    saturationAdu: null,
    y0: 0,
    y1: plane.heightPx,
    ...more,
  };
}

/** Index of the candidate nearest to a place within reach; -1 if there is none. */
function nearest(candidates: Candidates, x: number, y: number, reach: number): number {
  let best = -1;
  let least = reach;
  for (let i = 0; i < candidates.xPx.length; i++) {
    const d = Math.hypot(candidates.xPx[i] - x, candidates.yPx[i] - y);
    if (d < least) [best, least] = [i, d];
  }
  return best;
}

describe("the matched filter", () => {
  for (const [name, sites] of Object.entries(channels)) {
    for (const fwhm of [1.5, 2.6, 3.7]) {
      it(`gives, for the ${name} sites at FWHM ${fwhm} px, edges and missing pixels included, what the plain two-dimensional sum gives`, () => {
        const { width, height, samples } = drawField(1, fwhm, "gaussian", 30);
        const floats = Float32Array.from(samples);
        const uniform = makeRandom(3);
        for (let k = 0; k < 300; k++) floats[Math.floor(uniform() * floats.length)] = Number.NaN;
        floats[5000] = Number.POSITIVE_INFINITY;
        const plane = makePlane(floats, width, height, sites);
        const plain = filterPlainly(plane, sky, fwhm);
        const rows = makeFilteredRows(plane, planFilterGrid(plane, fwhm), even(sky), 0, 1);
        let worst = 0;
        for (let y = 0; y < height; y++) {
          rows.advance();
          const row = rows.at(y);
          for (let x = 0; x < width; x++) {
            if (row[x] === Number.NEGATIVE_INFINITY) continue;
            worst = Math.max(worst, Math.abs(row[x] - plain[y * width + x]));
          }
        }
        // Single precision of sums near 600 ADU, over a gain of up to 10.
        expect(worst).toBeLessThan(0.02);
      });
    }
  }

  it("answers a Gaussian star of 10,000 ADU and FWHM 3 px with S/N = flux / (2 sqrt(pi) s sigma) within 1 % (Gaussian noise area 4 pi s^2)", () => {
    const image = new Float64Array(101 * 101).fill(sky);
    addStars(image, 101, 101, [{ x: 50, y: 50, flux: 10000 }], { kind: "gaussian", fwhm: 3 });
    const s = Math.sqrt((3 / 2.354820045) ** 2 + 1 / 12);
    const found = detectBandTask.run(makeJob(makePlane(Float32Array.from(image), 101, 101), s * 2.354820045));
    expect(found.xPx.length).toBe(1);
    expect(found.snr[0] / (10000 / (2 * Math.sqrt(Math.PI) * s * sigma))).toBeCloseTo(1, 2);
    expect(found.fluxAdu[0] / 10000).toBeCloseTo(1, 2);
    expect(found.sharpness[0]).toBeCloseTo(1, 1);
  });

  it("meets noise above its threshold as often as the density of maxima of a normal field says, within 35 % (formula of Bond & Efstathiou 1987)", () => {
    const [width, height] = [1600, 1200];
    const normal = makeNormalRandom(makeRandom(77));
    const samples = Float32Array.from({ length: width * height }, () => sky + sigma * normal());
    const plane = makePlane(samples, width, height);
    const fwhm = 3.6;
    const rows = makeFilteredRows(plane, planFilterGrid(plane, fwhm), even(sky), 0, 1);
    const answer = new Float64Array(width * height);
    for (let y = 0; y < height; y++) {
      rows.advance();
      answer.set(rows.at(y), y * width);
    }
    const u = 3.5;
    const s = fwhm / 2.354820045;
    const expected = (width * height * u * Math.exp(-(u ** 2) / 2)) / ((2 * Math.PI) ** 1.5 * 2 * s * s);
    const found = findPlainMaxima(answer, width, height, u * sigma).length;
    expect(Math.abs(found / expected - 1)).toBeLessThan(0.35);
  });

  it("chooses 5.7 for a 26-megapixel frame at FWHM 3 px: 0.2 false maxima are expected there", () => {
    const u = chooseThreshold(3, 6248 * 4176);
    expect(u).toBeCloseTo(5.73, 1);
    const s = 3 / 2.354820045;
    const expected = (6248 * 4176 * u * Math.exp(-(u ** 2) / 2)) / ((2 * Math.PI) ** 1.5 * 2 * s * s);
    expect(expected).toBeCloseTo(0.2, 3);
  });
});

describe("maxima", () => {
  it("are those of the plain twin, each once, where nothing is crowded", () => {
    const { width, height, samples } = drawField(11, 3, "gaussian", 60);
    const plane = makePlane(samples, width, height);
    const found = detectBandTask.run(makeJob(plane, 3.1));
    const plain = findPlainMaxima(filterPlainly(plane, sky, 3.1), width, height, 5.5 * sigma);
    // What does not stand out from its ring (the foot of a bright star) is left out: none here.
    expect(found.xPx.length).toBe(plain.length);
    for (const { x, y, answer } of plain) {
      const i = nearest(found, x, y, 0.8);
      expect(i).toBeGreaterThanOrEqual(0);
      expect(found.snr[i] * sigma).toBeCloseTo(answer, 1);
    }
  });

  for (const [name, sites] of Object.entries(channels)) {
    for (const fwhm of [1.6, 3, 7]) {
      it(`of bands equal those of the whole frame exactly: ${name}, FWHM ${fwhm} px, cut at odd rows`, () => {
        const { width, height, samples } = drawField(12, fwhm, "moffat");
        const plane = makePlane(samples, width, height, sites);
        const whole = detectBandTask.run(makeJob(plane, fwhm));
        const cuts = [0, 1, 37, 38, 122, 201, 202, 333, 400];
        const parts = cuts
          .slice(1)
          .map((y1, i) => detectBandTask.run(makeJob(plane, fwhm, { y0: cuts[i], y1 })));
        const joined = joinCandidates(parts);
        expect(whole.xPx.length).toBeGreaterThan(20);
        for (const column of CANDIDATE_COLUMNS) expect(joined[column]).toEqual(whole[column]);
      });
    }
  }

  it("a plateau of equal values is met once", () => {
    const samples = new Uint16Array(60 * 60).fill(sky);
    for (let y = 20; y < 40; y++) for (let x = 20; x < 40; x++) samples[y * 60 + x] = 5000;
    const found = detectBandTask.run(makeJob(makePlane(samples, 60, 60), 2, { saturationAdu: 5000 }));
    expect(found.xPx.length).toBe(1);
  });
});

describe("candidates", () => {
  for (const [fwhm, kind] of [
    [1.2, "gaussian"],
    [2, "moffat"],
    [3, "moffat"],
    [5, "gaussian"],
    [12, "gaussian"],
    [9, "disc"],
    [11, "ring"],
  ] as const) {
    it(`of ${kind} stars ${fwhm} px wide: each found once, at least 95 % at S/N 10, nothing else (seed 21)`, async () => {
      const [width, height] = [900, 700];
      const s = Math.hypot(fwhm / 2.3548, 0.29);
      // A lattice with jitter keeps stars apart, so that completeness is a matter of noise alone.
      const uniform = makeRandom(21);
      const stars: DrawnStar[] = [];
      const pitch = fwhm > 6 ? 70 : 45;
      for (let y = pitch; y < height - pitch / 2; y += pitch) {
        for (let x = pitch; x < width - pitch / 2; x += pitch) {
          const snr = stars.length % 2 === 0 ? 10.5 : 12 * 60 ** uniform();
          stars.push({
            x: x + 8 * uniform(),
            y: y + 8 * uniform(),
            flux: snr * sigma * 2 * Math.sqrt(Math.PI) * s,
          });
        }
      }
      // A disc or ring concentrates its light less than its diameter as a FWHM says; a Moffat likewise: S/N by the filter's own.
      const samples = drawFrame(22, width, height, stars, { kind, fwhm, beta: 4 });
      const { candidates, fwhmPx } = await findCandidates(
        makePlane(samples, width, height),
        unknownCamera,
        runInline,
      );
      const reach = Math.max(1.5, 0.5 * fwhm);
      let found = 0;
      const hit = new Set<number>();
      for (const { x, y } of stars) {
        const i = nearest(candidates, x, y, reach);
        if (i < 0) continue;
        found++;
        hit.add(i);
      }
      expect(found / stars.length).toBeGreaterThan(0.95);
      expect(candidates.xPx.length - hit.size).toBe(0);
      // The Gaussian that answers a disc or ring best is narrower than it.
      expect(fwhmPx / (2.3548 * s)).toBeGreaterThan(kind === "disc" || kind === "ring" ? 0.7 : 0.9);
      expect(fwhmPx / (2.3548 * s)).toBeLessThan(1.25);
    });
  }

  it("of an empty sky: none in 6 megapixels of noise, and the width is said to be assumed (seed 31)", async () => {
    const normal = makeNormalRandom(makeRandom(31));
    const samples = Uint16Array.from({ length: 3000 * 2000 }, () => Math.round(sky + sigma * normal()));
    const { candidates, warnings } = await findCandidates(
      makePlane(samples, 3000, 2000),
      unknownCamera,
      runInline,
    );
    expect(candidates.xPx.length).toBe(0);
    expect(warnings.join()).toMatch(/could not be learned/);
  });

  it("move with the frame by whole pixels, and mirror with it, within 0.02 px (seed 41)", async () => {
    const { width, height, samples } = drawField(41, 2.5, "moffat");
    const run = async (values: Uint16Array) => {
      const found = await findCandidates(makePlane(values, width, height), unknownCamera, runInline);
      return found.candidates;
    };
    const direct = await run(samples);
    const mirrored = new Uint16Array(samples.length);
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) mirrored[y * width + x] = samples[y * width + width - 1 - x];
    }
    const turned = await run(mirrored);
    let matched = 0;
    for (let i = 0; i < direct.xPx.length; i++) {
      if (nearest(turned, width - 1 - direct.xPx[i], direct.yPx[i], 0.02) >= 0) matched++;
    }
    expect(matched / direct.xPx.length).toBeGreaterThan(0.97);
  });

  it("do not change when the frame is made brighter and noisier by a factor of 3 (seed 42)", async () => {
    const { width, height, samples } = drawField(42, 3, "gaussian", 100, 2000, 60000);
    const one = await findCandidates(
      makePlane(Float32Array.from(samples), width, height),
      unknownCamera,
      runInline,
    );
    const three = await findCandidates(
      makePlane(
        Float32Array.from(samples, (value) => 3 * value),
        width,
        height,
      ),
      unknownCamera,
      runInline,
    );
    expect(three.candidates.xPx.length).toBe(one.candidates.xPx.length);
    expect(three.fwhmPx).toBeCloseTo(one.fwhmPx, 2);
    one.candidates.snr.forEach((snr, i) => {
      expect(Math.abs(three.candidates.snr[i] / snr - 1)).toBeLessThan(0.04);
    });
  });

  it("find a saturation level of 30,000 ADU by its pile, and flag one star for each blob (seed 51)", async () => {
    const uniform = makeRandom(51);
    const stars = scatterStars(60, uniform, 700, 600, 3000, 100000);
    const bright = [
      { x: 150, y: 150, flux: 4e6 },
      { x: 500, y: 300, flux: 1.5e6 },
      { x: 350.4, y: 500.7, flux: 6e5 },
    ];
    const image = new Float64Array(700 * 600).fill(400);
    addStars(image, 700, 600, [...stars, ...bright], { kind: "moffat", fwhm: 3, beta: 3 });
    const samples = exposeFrame(image, makeNormalRandom(uniform), 1, 5, 200, 30000);
    const { candidates, saturationAdu } = await findCandidates(
      makePlane(samples, 700, 600),
      unknownCamera,
      runInline,
    );
    expect(saturationAdu).toBe(30000);
    for (const { x, y } of bright) {
      const near = Array.from(candidates.xPx.keys()).filter(
        (i) => Math.hypot(candidates.xPx[i] - x, candidates.yPx[i] - y) < 8,
      );
      expect(near.length).toBe(1);
      expect(candidates.flags[near[0]] & STAR_FLAGS.saturated).toBe(STAR_FLAGS.saturated);
      expect(Math.hypot(candidates.xPx[near[0]] - x, candidates.yPx[near[0]] - y)).toBeLessThan(0.3);
    }
    const unsaturated = await findCandidates(
      makePlane(drawField(52, 3).samples, 500, 400),
      unknownCamera,
      runInline,
    );
    expect(unsaturated.saturationAdu).toBeNull();
  });

  it("keep a star with missing pixels in its core within 0.5 px, and find nothing in missing areas (seed 61)", async () => {
    const { width, height, samples, stars } = drawField(61, 3, "gaussian", 40, 20000, 50000);
    const floats = Float32Array.from(samples);
    for (const { x, y } of stars) floats[Math.round(y) * width + Math.round(x)] = Number.NaN;
    for (let y = 0; y < height; y++) for (let x = 0; x < 60; x++) floats[y * width + x] = Number.NaN;
    const { candidates } = await findCandidates(makePlane(floats, width, height), unknownCamera, runInline);
    const visible = stars.filter(({ x, y }) => x > 66 && x < width - 6 && y > 6 && y < height - 6);
    let found = 0;
    for (const { x, y } of visible) if (nearest(candidates, x, y, 0.5) >= 0) found++;
    expect(found / visible.length).toBeGreaterThan(0.9);
    for (const x of candidates.xPx) expect(x).toBeGreaterThan(56);
  });

  it("flag the border: stars within 2 FWHM of an edge, and no others", async () => {
    const { width, height, samples } = drawField(71, 3);
    const { candidates, fwhmPx } = await findCandidates(
      makePlane(samples, width, height),
      unknownCamera,
      runInline,
    );
    for (let i = 0; i < candidates.xPx.length; i++) {
      const { xPx, yPx } = candidates;
      const margin = Math.min(xPx[i], yPx[i], width - 1 - xPx[i], height - 1 - yPx[i]);
      expect((candidates.flags[i] & STAR_FLAGS.border) !== 0).toBe(margin < 2 * fwhmPx);
    }
  });
});
