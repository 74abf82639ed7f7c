import { median } from "../maths/statistics.ts";
import type { SamplePlane } from "../stars/samples.ts";
import { listUsableStars, type StarTable } from "../stars/star-table.ts";
import type { HaloMeasurement } from "./colour-measurement.ts";
import { isAlone } from "./is-alone.ts";
import { indexMatches, matchChannels } from "./match-channels.ts";
import type { PixelChannel } from "./pixel-channel.ts";

/** Rings in half-maximum widths as sampled: from where the core's light is spent to where it drowns (chosen on stars of 12 mag). */
const edgesInWidths = [1.5, 2, 2.5, 3, 4, 5, 6.5, 8, 10] as const;
/** The sky is read beyond the last ring, out to this. */
const skyInWidths = 13;
const widestEdgePx = 80;
const mostStars = 40;
/** A star's own light must stand this far above its noise. */
const dimmestSnr = 150;

function findWidth(stars: StarTable): number {
  return median(listUsableStars(stars).map((row) => stars.sampledFwhmPx[row]));
}

/**
 * Mean light of the channel's pixels in each ring times the ring's area, the sky's median from the ring outside taken off.
 * NaN pixels are left out; null where a ring has no pixel.
 */
export function sumRings(
  plane: SamplePlane,
  xPx: number,
  yPx: number,
  edgesPx: readonly number[],
  skyPx: number,
): number[] | null {
  const rings = edgesPx.length - 1;
  const sums = new Float64Array(rings);
  const counts = new Float64Array(rings);
  const sky: number[] = [];
  const [x0, y0] = [Math.round(xPx), Math.round(yPx)];
  const reach = Math.ceil(skyPx) + 1;
  for (let y = Math.max(0, y0 - reach); y <= Math.min(plane.heightPx - 1, y0 + reach); y++) {
    for (let x = Math.max(0, x0 - reach); x <= Math.min(plane.widthPx - 1, x0 + reach); x++) {
      if (!plane.sites[(x & 1) + 2 * (y & 1)]) continue;
      const value = plane.samples[y * plane.widthPx + x];
      const r = Math.hypot(x - xPx, y - yPx);
      if (!Number.isFinite(value) || r < edgesPx[0] || r >= skyPx) continue;
      if (r >= edgesPx[rings]) {
        sky.push(value);
        continue;
      }
      let ring = 0;
      while (r >= edgesPx[ring + 1]) ring++;
      sums[ring] += value;
      counts[ring]++;
    }
  }
  const level = median(sky);
  if (!Number.isFinite(level) || counts.includes(0)) return null;
  return Array.from(
    sums,
    (sum, ring) => (sum / counts[ring] - level) * Math.PI * (edgesPx[ring + 1] ** 2 - edgesPx[ring] ** 2),
  );
}

/**
 * Light far from the brightest lone stars that every channel could use, at most 40. `main`: the channel whose table
 * says which stars stand alone, and whose widths set the rings, the same in all channels. Null for fewer than 5 such stars.
 */
export function measureHalo(channels: readonly PixelChannel[], main: string): HaloMeasurement | null {
  const reference = channels.find(({ channel }) => channel === main);
  if (reference === undefined || channels.length < 2) return null;
  const { stars, plane } = reference;
  const width = findWidth(stars);
  if (!(width > 0)) return null;
  const unit = Math.min(width, widestEdgePx / edgesInWidths[edgesInWidths.length - 1]);
  const edgesPx = edgesInWidths.map((edge) => Number((edge * unit).toFixed(2)));
  const skyPx = skyInWidths * unit;
  const others = channels
    .filter((channel) => channel !== reference)
    .map((channel) => ({ channel, rows: indexMatches(matchChannels(channel.stars, stars), stars) }));
  const bright = listUsableStars(stars)
    .filter((row) => stars.snr[row] >= dimmestSnr && isInside(plane, stars.xPx[row], stars.yPx[row], skyPx))
    .filter((row) => others.every(({ rows }) => rows[row] >= 0))
    .sort((a, b) => stars.fluxAdu[b] - stars.fluxAdu[a]);
  const halo: HaloMeasurement = {
    edgesPx,
    xPx: [],
    yPx: [],
    channels: Object.fromEntries(channels.map(({ channel }): [string, number[][]] => [channel, []])),
  };
  for (const row of bright) {
    if (halo.xPx.length >= mostStars) break;
    if (!isAlone(stars, row, edgesPx[edgesPx.length - 1] + width)) continue;
    const shares = [reference, ...others.map(({ channel }) => channel)].map((channel, k) => {
      const own = k === 0 ? row : others[k - 1].rows[row];
      const table = channel.stars;
      const sums = sumRings(channel.plane, table.xPx[own], table.yPx[own], edgesPx, skyPx);
      return { name: channel.channel, shares: sums?.map((sum) => sum / table.fluxAdu[own]) ?? null };
    });
    if (shares.some((part) => part.shares === null)) continue;
    halo.xPx.push(Number(stars.xPx[row].toFixed(1)));
    halo.yPx.push(Number(stars.yPx[row].toFixed(1)));
    for (const part of shares) {
      halo.channels[part.name].push((part.shares ?? []).map((share) => Number(share.toPrecision(4))));
    }
  }
  return halo.xPx.length < 5 ? null : halo;
}

function isInside(plane: SamplePlane, xPx: number, yPx: number, reachPx: number): boolean {
  return xPx > reachPx && yPx > reachPx && xPx < plane.widthPx - reachPx && yPx < plane.heightPx - reachPx;
}
