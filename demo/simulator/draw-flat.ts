import type { ColourFilterArray, Optics, SimulatedCamera } from "./conditions.ts";
import { computeFlatLight, type DustShadow, type FlatSource } from "./flat-light.ts";
import { makeRowExposer } from "./noise.ts";
import { makeRandomSource } from "./random.ts";

/** One exposure of a flat panel or of the twilight sky; level 0 is a bias frame. */
export interface FlatExposure {
  /** Level of the axis without rings as a share of saturation, by channel: L, or R, G and B. */
  levels: Readonly<Record<string, number>>;
  source: FlatSource;
  /** Scatter of the pixels' sensitivity, share. */
  prnu: number;
  /** Stars of a twilight sky. */
  stars?: readonly { xPx: number; yPx: number; electrons: number; sigmaPx: number }[];
}

const meshPx = 16;

/**
 * Draws a flat: the light of the optics and the source on a mesh, each pixel's own sensitivity (the same in all frames of
 * a camera), dust, stars where there are some, then photon and read noise, gain, pedestal, rounding and saturation. Pure.
 */
export function drawFlat(
  optics: Optics,
  camera: SimulatedCamera,
  exposure: FlatExposure,
  seed: number,
): { samples: Uint16Array; widthPx: number; heightPx: number } {
  const { widthPx, heightPx } = camera;
  const random = makeRandomSource(seed);
  const expose = makeRowExposer(camera, random);
  const samples = new Uint16Array(widthPx * heightPx);
  const row = new Float32Array(widthPx);
  const full = (camera.saturationAdu - camera.biasAdu) * camera.gainElectronsPerAdu;
  const dark = Object.values(exposure.levels).every((level) => level === 0);
  const light = dark ? null : prepareLight(optics, camera, exposure.source);
  const specks = exposure.source.dust.map((speck) => placeSpeck(speck, camera));
  for (let y = 0; y < heightPx; y++) {
    if (light === null) row.fill(0);
    else {
      light(y, row);
      shadeRow(row, y, specks);
      const levels = [0, 1].map((x) => full * (exposure.levels[nameChannel(camera.cfa, x, y)] ?? 0));
      for (let x = 0; x < widthPx; x++) {
        row[x] *= levels[x & 1] * (1 + exposure.prnu * drawSensitivity(x, y));
      }
    }
    for (const star of exposure.stars ?? []) addStar(row, y, star);
    expose(row, samples, y * widthPx);
  }
  return { samples, widthPx, heightPx };
}

function nameChannel(cfa: ColourFilterArray, x: number, y: number): string {
  return cfa === "none" ? "L" : cfa[(x & 1) + 2 * (y & 1)];
}

/** Evenly spread with variance 1, fixed for each pixel: an integer hash (Wang 2007, from memory). */
function drawSensitivity(x: number, y: number): number {
  let bits = (x * 73_856_093) ^ (y * 19_349_663);
  bits = Math.imul(bits ^ 61 ^ (bits >>> 16), 9);
  bits = Math.imul(bits ^ (bits >>> 4), 0x27d4eb2d);
  bits ^= bits >>> 15;
  return ((bits >>> 0) / 2_147_483_648 - 1) * Math.sqrt(3);
}

function prepareLight(optics: Optics, camera: SimulatedCamera, source: FlatSource) {
  const { widthPx, heightPx } = camera;
  const pitchMm = camera.pixelPitchUm / 1000;
  const diagonalMm = Math.hypot(widthPx, heightPx) * pitchMm;
  const columns = Math.ceil(widthPx / meshPx) + 2;
  const rows = Math.ceil(heightPx / meshPx) + 2;
  const mesh = new Float64Array(columns * rows);
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < columns; i++) {
      const x = (i * meshPx - (widthPx - 1) / 2) * pitchMm;
      const y = -(j * meshPx - (heightPx - 1) / 2) * pitchMm;
      mesh[j * columns + i] = computeFlatLight(optics, source, diagonalMm, x, y);
    }
  }
  return (y: number, row: Float32Array): void => {
    const j = Math.floor(y / meshPx);
    const down = y / meshPx - j;
    for (let x = 0; x < widthPx; x++) {
      const i = Math.floor(x / meshPx);
      const across = x / meshPx - i;
      const at = j * columns + i;
      const upper = mesh[at] + (mesh[at + 1] - mesh[at]) * across;
      const lower = mesh[at + columns] + (mesh[at + columns + 1] - mesh[at + columns]) * across;
      row[x] = upper + (lower - upper) * down;
    }
  };
}

interface Speck {
  x: number;
  y: number;
  radius: number;
  hole: number;
  depth: number;
}

function placeSpeck(speck: DustShadow, camera: SimulatedCamera): Speck {
  const perMm = 1000 / camera.pixelPitchUm;
  return {
    x: speck.xMm * perMm + (camera.widthPx - 1) / 2,
    y: (camera.heightPx - 1) / 2 - speck.yMm * perMm,
    radius: speck.radiusMm * perMm,
    hole: speck.hole,
    depth: speck.depth,
  };
}

function shadeRow(row: Float32Array, y: number, specks: readonly Speck[]): void {
  for (const { x, y: middle, radius, hole, depth } of specks) {
    const dy = (y - middle) / radius;
    if (Math.abs(dy) > 1) continue;
    const from = Math.max(0, Math.ceil(x - radius));
    for (let i = from; i <= Math.min(row.length - 1, x + radius); i++) {
      const squared = ((i - x) / radius) ** 2 + dy * dy;
      if (squared <= 1 && squared >= hole * hole) row[i] *= 1 - depth;
    }
  }
}

function addStar(
  row: Float32Array,
  y: number,
  star: { xPx: number; yPx: number; electrons: number; sigmaPx: number },
): void {
  const dy = (y - star.yPx) / star.sigmaPx;
  if (Math.abs(dy) > 5) return;
  const peak = star.electrons / (2 * Math.PI * star.sigmaPx ** 2);
  const reach = 5 * star.sigmaPx;
  for (
    let x = Math.max(0, Math.ceil(star.xPx - reach));
    x <= Math.min(row.length - 1, star.xPx + reach);
    x++
  ) {
    row[x] += peak * Math.exp(-0.5 * (dy * dy + ((x - star.xPx) / star.sigmaPx) ** 2));
  }
}
