import { describe, expect, it } from "vitest";
import { measureLightCentre } from "../../lib/colour/light-centre.ts";
import { placeStar } from "../../lib/colour/local-shape.ts";
import { makeMoffatProfile } from "../../lib/stars/profile.ts";
import type { SamplePlane } from "../../lib/stars/samples.ts";
import { drawAnalyticStar } from "../stars/analytic-stars.ts";

const size = 61;
const flux = 1e5;
const beta = 3.5;
const profile = makeMoffatProfile(beta);
const noise = { sigmaAdu: 10, gainElectronsPerAdu: 1 };
const allSites = [true, true, true, true] as const;
const everyFourth = [true, false, false, false] as const;

/** A star and a fainter companion that it cannot be told from: a lopsided image whose mean place is known. */
function drawLopsided(
  x: number,
  y: number,
  away: { x: number; y: number },
  share: number,
  sites: SamplePlane["sites"],
) {
  const draw = (px: number, py: number, part: number) =>
    drawAnalyticStar(
      { x: px, y: py, flux: flux * part, fwhmMajorPx: 3, fwhmMinorPx: 3, angleDeg: 0, beta },
      size,
    );
  const bright = draw(x, y, 1 - share);
  const faint = draw(x + away.x, y + away.y, share);
  const samples = Float32Array.from(bright, (value, k) => value + faint[k] + 200);
  return { widthPx: size, heightPx: size, samples, sites };
}

function measure(plane: SamplePlane, x: number, y: number) {
  const shape = { halfWidthPx: 1.55, e1: 0, e2: 0 };
  return measureLightCentre(plane, placeStar(shape, profile, flux, x, y), profile, 200, noise, 5 * 1.55);
}

describe("measureLightCentre(plane, model, profile, background, noise, reach)", () => {
  it("finds the mean place of a lopsided star, 0.24 px off along x and -0.12 along y, within 0.006 px wherever it is asked", () => {
    const plane = drawLopsided(30.2, 29.7, { x: 1.2, y: -0.6 }, 0.2, allSites);
    for (const start of [
      { x: 30.2, y: 29.7 },
      { x: 30.45, y: 29.5 },
    ]) {
      const { dxPx, dyPx } = measure(plane, start.x, start.y)!;
      expect(Math.abs(start.x + dxPx - 30.44)).toBeLessThan(0.006);
      expect(Math.abs(start.y + dyPx - 29.58)).toBeLessThan(0.006);
    }
  });

  it("finds it on every fourth pixel as the mean over 64 places in the pixel, within 0.01 px", () => {
    let [x, y] = [0, 0];
    for (let k = 0; k < 64; k++) {
      const [ownX, ownY] = [30 + (k % 8) / 4, 30 + Math.floor(k / 8) / 4];
      const plane = drawLopsided(ownX, ownY, { x: 1.2, y: -0.6 }, 0.2, everyFourth);
      const { dxPx, dyPx } = measure(plane, ownX, ownY)!;
      x += dxPx / 64;
      y += dyPx / 64;
    }
    expect(Math.abs(x - 0.24)).toBeLessThan(0.01);
    expect(Math.abs(y + 0.12)).toBeLessThan(0.01);
  });

  it("mirrored left to right turns dx over and keeps dy", () => {
    const plane = drawLopsided(30.2, 29.7, { x: 1.2, y: -0.6 }, 0.2, allSites);
    const samples = plane.samples.map((_, k) => plane.samples[k - (k % size) + size - 1 - (k % size)]);
    const own = measure(plane, 30.2, 29.7)!;
    const turned = measure({ ...plane, samples }, size - 1 - 30.2, 29.7)!;
    expect(turned.dxPx).toBeCloseTo(-own.dxPx, 4);
    expect(turned.dyPx).toBeCloseTo(own.dyPx, 4);
  });

  it("says nothing at the frame's edge or where a pixel is missing", () => {
    const plane = drawLopsided(30.2, 29.7, { x: 1.2, y: -0.6 }, 0.2, allSites);
    expect(measure(plane, 3, 29.7)).toBeNull();
    const samples = Float32Array.from(plane.samples);
    samples[29 * size + 33] = Number.NaN;
    expect(measure({ ...plane, samples }, 30.2, 29.7)).toBeNull();
  });
});
