import { chooseSpokes } from "../field/choose-spokes.ts";
import type { SensorGeometry } from "../field/geometry.ts";
import { type StarTable, selectStars } from "../stars/star-table.ts";
import type { ChannelCrop } from "./colour-measurement.ts";
import { matchChannels } from "./match-channels.ts";

/**
 * One star in the centre and one near each corner, each in every channel: stars that all channels could use, cut about the same
 * pixel. The same tables give the same choice. A place without such a star stays empty.
 */
export function chooseChannelCrops(
  tables: Readonly<Record<string, StarTable>>,
  main: string,
  geometry: SensorGeometry,
): ChannelCrop[] {
  const channels = Object.keys(tables);
  const reference = tables[main];
  if (reference === undefined || channels.length < 2) return [];
  const counts = new Uint8Array(reference.flags.length);
  for (const name of channels) {
    if (name === main) continue;
    for (const row of matchChannels(tables[name], reference).against) counts[row]++;
  }
  const inAll = Array.from(counts.keys()).filter((row) => counts[row] === channels.length - 1);
  const common = selectStars(reference, inAll);
  const spokes = chooseSpokes(common, geometry);
  const places = ["centre", "upperLeft", "upperRight", "lowerLeft", "lowerRight"] as const;
  return places.flatMap((place) => {
    const farthest = spokes.filter(({ halfDiagonal }) => halfDiagonal === place).at(-1);
    if (farthest === undefined) return [];
    const { xPx, yPx, sidePx } = farthest;
    return channels.map((channel) => ({
      place,
      channel,
      file: `crops/colour/${place}-${channel.replace(/[^A-Za-z0-9]/g, "")}.png`,
      xPx,
      yPx,
      sidePx,
    }));
  });
}
