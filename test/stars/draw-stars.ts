import type { SamplePlane } from "../../lib/stars/samples.ts";

/** Deterministic uniform numbers in [0, 1): multiply-with-carry-free 32-bit mixing generator ("mulberry", public domain). */
export function makeUniform(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** Normal deviates of unit variance (Box & Muller 1958). */
export function makeNormal(uniform: () => number): () => number {
  let spare: number | null = null;
  return () => {
    if (spare !== null) {
      const value = spare;
      spare = null;
      return value;
    }
    const radius = Math.sqrt(-2 * Math.log(1 - uniform()));
    const angle = 2 * Math.PI * uniform();
    spare = radius * Math.sin(angle);
    return radius * Math.cos(angle);
  };
}

export interface DrawnStar {
  x: number;
  y: number;
  /** Whole light, ADU. */
  flux: number;
}

export interface StarShape {
  kind: "gaussian" | "moffat" | "disc" | "ring";
  /** Width of the light before the pixel's integral; diameter of a disc or ring, px. */
  fwhm: number;
  /** Moffat's exponent. */
  beta?: number;
  /** Minor over major axis, and angle of the major one, degrees from +x, y down. */
  axisRatio?: number;
  angleDeg?: number;
}

/** Surface brightness at (dx, dy) of unit light. */
function shine(shape: StarShape, dx: number, dy: number): number {
  const angle = ((shape.angleDeg ?? 0) * Math.PI) / 180;
  const q = shape.axisRatio ?? 1;
  const u = (dx * Math.cos(angle) + dy * Math.sin(angle)) * Math.sqrt(q);
  const v = (-dx * Math.sin(angle) + dy * Math.cos(angle)) / Math.sqrt(q);
  const r2 = u * u + v * v;
  if (shape.kind === "gaussian") {
    const s2 = (shape.fwhm / 2.354820045030949) ** 2;
    return Math.exp(-r2 / (2 * s2)) / (2 * Math.PI * s2);
  }
  if (shape.kind === "moffat") {
    const beta = shape.beta ?? 3;
    const a2 = (shape.fwhm / (2 * Math.sqrt(2 ** (1 / beta) - 1))) ** 2;
    return ((beta - 1) / (Math.PI * a2)) * (1 + r2 / a2) ** -beta;
  }
  const outer = shape.fwhm / 2;
  const inner = shape.kind === "ring" ? 0.5 * outer : 0;
  const area = Math.PI * (outer * outer - inner * inner);
  const r = Math.sqrt(r2);
  return r <= outer && r >= inner ? 1 / area : 0;
}

/** Adds stars to a frame, each pixel integrated on a 5 x 5 (narrow cores: 9 x 9) grid, out to where the light is spent. */
export function addStars(
  image: Float64Array,
  width: number,
  height: number,
  stars: readonly DrawnStar[],
  shape: StarShape | ((star: DrawnStar) => StarShape),
): void {
  for (const star of stars) {
    const form = typeof shape === "function" ? shape(star) : shape;
    const bright = form.kind === "moffat" ? Math.min(12, 2 + (star.flux / 500) ** 0.2) : 2.5;
    const reach = Math.ceil(bright * form.fwhm) + 2;
    for (
      let y = Math.max(0, Math.round(star.y) - reach);
      y <= Math.min(height - 1, Math.round(star.y) + reach);
      y++
    ) {
      for (
        let x = Math.max(0, Math.round(star.x) - reach);
        x <= Math.min(width - 1, Math.round(star.x) + reach);
        x++
      ) {
        const near = Math.hypot(x - star.x, y - star.y) < 1.5 * form.fwhm + 1;
        const n = near ? (form.fwhm < 2 ? 9 : 5) : 1;
        let sum = 0;
        for (let j = 0; j < n; j++) {
          for (let i = 0; i < n; i++) {
            sum += shine(form, x + (i + 0.5) / n - 0.5 - star.x, y + (j + 0.5) / n - 0.5 - star.y);
          }
        }
        image[y * width + x] += (star.flux * sum) / (n * n);
      }
    }
  }
}

/** Photon noise of everything in `image` (ADU, sky included) and read noise, rounded to whole ADU, 0...65535. */
export function exposeFrame(
  image: Float64Array,
  normal: () => number,
  gainElectronsPerAdu: number,
  readNoiseElectrons: number,
  biasAdu = 0,
  saturationAdu = 65535,
): Uint16Array {
  const samples = new Uint16Array(new SharedArrayBuffer(image.length * 2));
  for (let i = 0; i < image.length; i++) {
    const variance =
      Math.max(0, image[i]) / gainElectronsPerAdu + (readNoiseElectrons / gainElectronsPerAdu) ** 2;
    const value = Math.min(saturationAdu, biasAdu + image[i] + Math.sqrt(variance) * normal());
    samples[i] = Math.min(65535, Math.max(0, Math.round(value)));
  }
  return samples;
}

export const EVERY = [true, true, true, true] as const;

export function makePlane(
  samples: Uint16Array | Float32Array,
  widthPx: number,
  heightPx: number,
  sites: SamplePlane["sites"] = EVERY,
): SamplePlane {
  return { widthPx, heightPx, samples, sites };
}

/** `n` stars at random places, light log-uniform between the two fluxes. */
export function scatterStars(
  n: number,
  uniform: () => number,
  width: number,
  height: number,
  fluxLow: number,
  fluxHigh: number,
): DrawnStar[] {
  return Array.from({ length: n }, () => ({
    x: uniform() * (width - 1),
    y: uniform() * (height - 1),
    flux: fluxLow * (fluxHigh / fluxLow) ** uniform(),
  }));
}
