import { describe, expect, it } from "vitest";
import type { FrameMeasurement } from "../../lib/stars/frame-measurement.ts";
import { makeStarTable } from "../../lib/stars/star-table.ts";
import { thinForSweep } from "../../lib/stars/thin-stars.ts";

function makeFrame(count: number, flagged: number): FrameMeasurement {
  const stars = makeStarTable(count);
  for (let row = 0; row < count; row++) {
    stars.fluxAdu[row] = count - row;
    if (row < flagged) stars.flags[row] = 1;
  }
  return { channels: [{ channel: "L", found: count, stars }] } as unknown as FrameMeasurement;
}

describe("thinForSweep(frame)", () => {
  it("keeps 700 of 5000 usable stars from the brightest to the faintest, and what was found", () => {
    const [channel] = thinForSweep(makeFrame(5100, 100)).channels;
    expect(channel.found).toBe(5100);
    expect(channel.stars.flags).toHaveLength(700);
    expect(channel.stars.fluxAdu[0]).toBe(5000);
    expect(channel.stars.fluxAdu[699]).toBeLessThan(10);
  });

  it("changes nothing when done twice, and drops only unusable stars of a frame with few", () => {
    const once = thinForSweep(makeFrame(5000, 0));
    expect(thinForSweep(once)).toEqual(once);
    expect(thinForSweep(makeFrame(300, 20)).channels[0].stars.flags).toHaveLength(280);
  });
});
