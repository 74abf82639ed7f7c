import { makeSitePlanes } from "../../lib/frames/cfa.ts";
import type { CfaPattern } from "../../lib/records/types.ts";
import { makeNormal, makeUniform } from "../stars/draw-stars.ts";

export interface DrawnMoon {
  widthPx: number;
  heightPx: number;
  cfa: CfaPattern;
  xPx: number;
  yPx: number;
  radiusPx: number;
  /** Gaussian sigma of the light before the pixel's integral, px, and what each channel is shifted and grown by. */
  channels: Record<string, { sigmaPx: number; dxPx: number; dyPx: number; growPx: number }>;
  discAdu: number;
  skyAdu: number;
  /** Share of light lost from the middle of the disc to its limb. */
  darkening?: number;
  /** Direction of the Sun, degrees, y down, and how far the terminator lies across (1: full, 0: half). */
  phase?: { angleDeg: number; reach: number };
  /** Mountains: amplitude in px and how many go round. */
  terrain?: { amplitudePx: number; waves: number };
  noiseAdu: number;
  seed: number;
}

/** Share of light at a distance outside the limb: the normal distribution's tail, by Abramowitz & Stegun 7.1.26 (1.5e-7). */
function fall(distance: number): number {
  const x = Math.abs(distance) / Math.SQRT2;
  const t = 1 / (1 + 0.3275911 * x);
  const poly =
    ((((1.061405429 * t - 1.453152027) * t + 1.421413741) * t - 0.284496736) * t + 0.254829592) * t;
  const tail = (poly * Math.exp(-x * x)) / 2;
  return distance > 0 ? tail : 1 - tail;
}

/** A disc whose limb is a Gaussian's integral, pixels integrated on 3 x 3 points, each channel on its own sites. */
export function drawMoon(moon: DrawnMoon) {
  const { widthPx, heightPx } = moon;
  const normal = makeNormal(makeUniform(moon.seed));
  const samples = new Uint16Array(widthPx * heightPx);
  const planes = makeSitePlanes(samples, moon.cfa);
  for (const { channel, sites } of planes) {
    const { sigmaPx, dxPx, dyPx, growPx } = moon.channels[channel];
    for (let y = 0; y < heightPx; y++) {
      for (let x = 0; x < widthPx; x++) {
        if (!sites[(x & 1) + 2 * (y & 1)]) continue;
        let light = 0;
        for (let sub = 0; sub < 9; sub++) {
          const u = x + ((sub % 3) - 1) / 3 - moon.xPx - dxPx;
          const v = y + (Math.floor(sub / 3) - 1) / 3 - moon.yPx - dyPx;
          const r = Math.hypot(u, v);
          const angle = Math.atan2(v, u);
          const rough = moon.terrain ? moon.terrain.amplitudePx * Math.sin(moon.terrain.waves * angle) : 0;
          const distance = r - moon.radiusPx - growPx - rough;
          const inside = Math.min(1, r / moon.radiusPx);
          let shine = 1 - (moon.darkening ?? 0) * inside * inside;
          if (moon.phase !== undefined) {
            const sun = (moon.phase.angleDeg * Math.PI) / 180;
            const along = (u * Math.cos(sun) + v * Math.sin(sun)) / moon.radiusPx;
            const across = (-u * Math.sin(sun) + v * Math.cos(sun)) / moon.radiusPx;
            const terminator = -moon.phase.reach * Math.sqrt(Math.max(0, 1 - across * across));
            // Light fades towards the terminator over a tenth of the radius.
            shine *= Math.min(1, Math.max(0, (along - terminator) / 0.1));
          }
          light += (shine * fall(distance / sigmaPx)) / 9;
        }
        const value = moon.skyAdu + moon.discAdu * light + moon.noiseAdu * normal();
        samples[y * widthPx + x] = Math.max(0, Math.min(65535, Math.round(value)));
      }
    }
  }
  return planes.map(({ channel, sites }) => ({
    channel,
    plane: { widthPx, heightPx, samples, sites },
  }));
}
