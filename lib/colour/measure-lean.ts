import { applyTransform, invertTransform } from "../stars/align-frames.ts";
import { makeMoffatProfile } from "../stars/profile.ts";
import { listUsableStars, type StarTable } from "../stars/star-table.ts";
import type { LeanMeasurement } from "./colour-measurement.ts";
import { isAlone } from "./is-alone.ts";
import { type LightNoise, measureLightCentre } from "./light-centre.ts";
import { placeStar, readLocalShape } from "./local-shape.ts";
import { indexMatches, matchChannels } from "./match-channels.ts";
import type { PixelChannel } from "./pixel-channel.ts";

/** Circle about a star, half-widths: the wings beyond hold some 5 % (chosen on drawn frames; 4 to 5 gave the same centres). */
const reachInHalfWidths = 5;
const mostStars = 500;
/** Below these a star's moment is noise: in the channel that all are held against, and in the others. */
const dimmestSnr = 40;
const dimmestElsewhere = 25;
const fewestStars = 20;
/** What the main channel's Moffat exponent, taken for all, is held to: on the exponent the moment depends little. */
const [leastBeta, mostBeta] = [2.2, 6];

interface Prepared extends PixelChannel {
  usable: number[];
  noise: LightNoise;
  rows: Int32Array | null;
  place: (xPx: number, yPx: number) => { x: number; y: number };
}

function prepare(channel: PixelChannel, main: StarTable): Prepared {
  const { stars, noiseAdu, gainElectronsPerAdu } = channel;
  const usable = listUsableStars(stars).filter((row) => stars.snr[row] >= dimmestSnr);
  const gain = gainElectronsPerAdu > 0 ? gainElectronsPerAdu : 1;
  const noise = { sigmaAdu: noiseAdu, gainElectronsPerAdu: gain };
  if (stars === main) return { ...channel, usable, noise, rows: null, place: (x, y) => ({ x, y }) };
  const matched = matchChannels(stars, main);
  const back = invertTransform(matched.transform);
  return {
    ...channel,
    usable,
    noise,
    rows: indexMatches(matched, main),
    place: (xPx, yPx) => applyTransform(back, xPx, yPx),
  };
}

/**
 * How far the light of bright lone stars lies from their fitted centres, in every channel of one frame. The fitted centre is that
 * of a symmetric profile: of a star with coma it leans to where the core is, by an amount that changes with focus, so that colours
 * out of focus by different amounts seem to have a lateral colour of their own.
 *
 * In channels other than `main` the light is asked for about the main channel's place carried over: on every other pixel a fitted
 * centre errs with where in the pixel the star stands, and a moment about it would err with it.
 *
 * @returns null for fewer than 20 such stars
 */
export function measureLean(channels: readonly PixelChannel[], main: string): LeanMeasurement | null {
  const reference = channels.find(({ channel }) => channel === main);
  if (reference === undefined) return null;
  const { stars } = reference;
  const prepared = channels.map((channel) => prepare(channel, stars));
  const beta = Math.min(mostBeta, Math.max(leastBeta, reference.moffatBeta || leastBeta));
  const profile = makeMoffatProfile(beta);
  const bright = listUsableStars(stars)
    .filter((row) => stars.snr[row] >= dimmestSnr)
    .sort((a, b) => stars.fluxAdu[b] - stars.fluxAdu[a]);
  const lean: LeanMeasurement = {
    xPx: [],
    yPx: [],
    channels: Object.fromEntries(channels.map(({ channel }) => [channel, { dxPx: [], dyPx: [], errPx: [] }])),
  };
  for (const row of bright) {
    if (lean.xPx.length >= mostStars) break;
    const width = 2 * readLocalShape(stars, bright, stars.xPx[row], stars.yPx[row]).halfWidthPx;
    if (!isAlone(stars, row, (reachInHalfWidths / 2 + 1.5) * width)) continue;
    const found = prepared.map((channel) => {
      const own = channel.rows === null ? row : channel.rows[row];
      const table = channel.stars;
      if (own < 0 || table.snr[own] < dimmestElsewhere) return null;
      const shape = readLocalShape(table, channel.usable, table.xPx[own], table.yPx[own]);
      if (!(shape.halfWidthPx > 0)) return null;
      const reachPx = reachInHalfWidths * shape.halfWidthPx;
      const { x, y } = channel.place(stars.xPx[row], stars.yPx[row]);
      const model = placeStar(shape, profile, table.fluxAdu[own], x, y);
      const level = table.backgroundAdu[own];
      const centre = measureLightCentre(channel.plane, model, profile, level, channel.noise, reachPx);
      return centre === null
        ? null
        : {
            dxPx: x + centre.dxPx - table.xPx[own],
            dyPx: y + centre.dyPx - table.yPx[own],
            errPx: centre.errorPx,
          };
    });
    if (found.some((centre) => centre === null)) continue;
    lean.xPx.push(Number(stars.xPx[row].toFixed(2)));
    lean.yPx.push(Number(stars.yPx[row].toFixed(2)));
    found.forEach((centre, k) => {
      const columns = lean.channels[channels[k].channel];
      columns.dxPx.push(Number((centre?.dxPx ?? 0).toFixed(4)));
      columns.dyPx.push(Number((centre?.dyPx ?? 0).toFixed(4)));
      columns.errPx.push(Number((centre?.errPx ?? 0).toPrecision(2)));
    });
  }
  return lean.xPx.length < fewestStars ? null : lean;
}
