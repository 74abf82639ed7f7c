import type { FrameMeasurement } from "./frame-measurement.ts";
import { listUsableStars, selectStars } from "./star-table.ts";

/** Stars of a sweep's frame that are kept: the sweep uses fewer, and nine frames' whole lists would be megabytes. */
const mostKept = 700;

/**
 * The frame with at most 700 usable stars a channel, every n-th in order of light, so that bright and faint ones stay in
 * proportion. Numbers of objects found are those of the whole frame. Thinning twice changes nothing.
 */
export function thinForSweep(frame: FrameMeasurement): FrameMeasurement {
  return {
    ...frame,
    channels: frame.channels.map((channel) => {
      const usable = listUsableStars(channel.stars);
      const share = usable.length / mostKept;
      const rows =
        share <= 1 ? usable : Array.from({ length: mostKept }, (_, k) => usable[Math.floor(k * share)]);
      return { ...channel, stars: selectStars(channel.stars, rows) };
    }),
  };
}
