import { makeExact, type Quantity } from "../maths/quantity.ts";
import type { ColourHalo } from "../report/colour-results.ts";
import type { HaloMeasurement } from "./colour-measurement.ts";
import { describeMedian } from "./describe-median.ts";

/** The halo counts from this ring on: 2.5 half-maximum widths, where the core of a focused star is spent. */
const firstRing = 2;

const bright = "bright lone stars";

/** Stars that lie within two pixels in several frames, once each: their shares averaged over the frames. */
function joinFrames(halos: readonly HaloMeasurement[]): HaloMeasurement {
  const [first] = halos;
  const names = Object.keys(first.channels);
  const stars: { x: number; y: number; shares: Record<string, number[][]> }[] = [];
  for (const halo of halos) {
    halo.xPx.forEach((x, k) => {
      const y = halo.yPx[k];
      let star = stars.find((known) => Math.hypot(known.x - x, known.y - y) < 20);
      if (star === undefined) {
        star = { x, y, shares: Object.fromEntries(names.map((name) => [name, []])) };
        stars.push(star);
      }
      for (const name of names) star.shares[name].push(halo.channels[name]?.[k] ?? []);
    });
  }
  const average = (lists: number[][]): number[] =>
    first.edgesPx
      .slice(1)
      .map((_, ring) => lists.reduce((sum, list) => sum + (list[ring] ?? Number.NaN), 0) / lists.length);
  return {
    edgesPx: first.edgesPx,
    xPx: stars.map(({ x }) => x),
    yPx: stars.map(({ y }) => y),
    channels: Object.fromEntries(
      names.map((name) => [name, stars.map(({ shares }) => average(shares[name]))]),
    ),
  };
}

const areaOf = (edges: readonly number[], ring: number): number =>
  Math.PI * (edges[ring + 1] ** 2 - edges[ring] ** 2);

/** Light of a channel from a ring on, as a share of the star's, and star by star over the reference channel's. */
function describeBeyond(
  channels: HaloMeasurement["channels"],
  name: string,
  reference: string,
  ring: number,
): { share: Quantity; overReference: Quantity } {
  const sumHalo = (shares: readonly number[]): number =>
    shares.slice(ring).reduce((sum, share) => sum + share, 0);
  const sums = channels[name].map(sumHalo);
  const own = channels[reference].map(sumHalo);
  const ratios = sums.map((sum, star) => sum / own[star]);
  return {
    share: describeMedian(sums, "percent", bright, 100),
    overReference: name === reference ? makeExact(1, "ratio") : describeMedian(ratios, "ratio", bright),
  };
}

/**
 * Light between 2.5 and 10 widths of a bright star in each channel, and over the reference channel's star by star: medians
 * over the stars with intervals. Frames measured with other rings than the first are left out. Null without a frame.
 */
export function compareHalos(
  halos: readonly HaloMeasurement[],
  reference: string,
  umPerPx: number,
): ColourHalo | null {
  const same = halos.filter(
    ({ edgesPx, channels }) =>
      edgesPx.length === halos[0].edgesPx.length &&
      edgesPx.every((edge, k) => Math.abs(edge / halos[0].edgesPx[k] - 1) < 0.15) &&
      Object.hasOwn(channels, reference),
  );
  if (same.length === 0) return null;
  const { edgesPx, channels } = joinFrames(same);
  const names = Object.keys(channels);
  const middles = edgesPx.slice(1).map((edge, ring) => ((edge + edgesPx[ring]) / 2) * umPerPx);
  const describeFrom = (name: string, ring: number) => describeBeyond(channels, name, reference, ring);
  return {
    fromPx: edgesPx[firstRing],
    toPx: edgesPx[edgesPx.length - 1],
    fromUm: makeExact(edgesPx[firstRing] * umPerPx, "um"),
    toUm: makeExact(edgesPx[edgesPx.length - 1] * umPerPx, "um"),
    channels: Object.fromEntries(names.map((name) => [name, describeFrom(name, firstRing)])),
    beyond: {
      rUm: edgesPx.slice(0, -1).map((edge) => edge * umPerPx),
      channels: Object.fromEntries(
        names.map((name) => [name, edgesPx.slice(0, -1).map((_, ring) => describeFrom(name, ring))]),
      ),
    },
    profile: {
      rUm: middles,
      channels: Object.fromEntries(
        names.map((name) => [
          name,
          middles.map((_, ring) =>
            describeMedian(
              channels[name].map((shares) => shares[ring] / areaOf(edgesPx, ring)),
              "percent",
              bright,
              100,
            ),
          ),
        ]),
      ),
    },
  };
}
